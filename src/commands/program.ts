import { Argument, Command, CommanderError } from 'commander';
import { addAdviceOptions } from './advice-options.js';
import type { AuditFlags } from './audit.js';
import type { CalibrateFlags } from './calibrate.js';
import { type Shell, SHELLS, completionScript } from './completion.js';
import { addFrameArguments } from './frame-arguments.js';
import { EXIT_STATUS, addNotes } from './help.js';
import { addSaveLookOptions } from './look-options.js';
import { addPlanArithmetic } from './plan-arithmetic-options.js';
import { addPlanOptions } from './plan-options.js';
import { addOutputOptions } from './present.js';
import type { SendFlags } from './send.js';
import { type CommandContext, type ExitStatus } from './terminal.js';
import { asStopledgerError } from '../errors.js';
import { VERSION } from '../version.js';
import type { WatchFlags } from './watch/watch.js';

const CALIBRATIONS = ['--calibrations <file>', 'calibrations to use (default: those kept by calibrate)'] as const;

// Each command is loaded when it is asked for: help and a mistyped option answer at once.
/** The whole command line; `done` gets the exit status of the command that ran. */
export function createProgram(context: CommandContext, done: (status: ExitStatus) => void): Command {
  const top = new Command('stopledger')
    .description('Audits exposure and lighting consistency across a photo shoot, in stops of light.')
    .version(VERSION, '-V, --version', 'print the version')
    .exitOverride()
    .configureOutput({
      writeOut: (text) => void context.stdout.write(text),
      writeErr: (text) => void context.stderr.write(text),
    });
  addNotes(top, {
    notes: [EXIT_STATUS],
    examples: ['stopledger audit saturday/', 'stopledger watch tethered/', 'stopledger help audit'],
  });
  const add = (name: string, description: string): Command => top.command(name).description(description);

  const audit = addFrameArguments(add('audit', 'measure and judge files or folders on this machine, no service needed'))
    .option(...CALIBRATIONS)
    .action(async (paths: string[], flags: AuditFlags) => {
      const { audit } = await import('./audit.js');
      done(await audit(paths, flags, context));
    });
  addNotes(addAdviceOptions(addSaveLookOptions(addOutputOptions(addPlanOptions(audit)))), {
    notes: [
      'Folders are looked through with all folders inside; raw and JPEG of one exposure are one frame, measured on the raw.',
      EXIT_STATUS,
    ],
    examples: [
      'stopledger audit saturday/ --out saturday-report',
      'stopledger audit card-a/ card-b/ --tolerance 1/4 --light flash',
      'stopledger audit "saturday/**/*.NEF"',
      'find saturday -newer yesterday.txt -name "*.JPG" -print0 | stopledger audit - -0',
      'stopledger audit saturday/ --save-look hall.look.json',
      'stopledger audit sunday/ --look hall.look.json',
      'stopledger audit gallery/ --finished',
      'stopledger audit saturday/ --json | jq .summary',
      'stopledger audit saturday/ --sidecars-beside --out saturday-report --masks tiff16',
    ],
  });

  const send =
    addFrameArguments(add('send', 'have files or folders measured by a running service, wait, print the same')) // prettier-ignore
      .requiredOption('--to <url>', 'address of the service')
      .option(
        '--token <token>',
        'bearer token; SERVICE_TOKEN in the environment does the same and shows in no process list',
      ) // prettier-ignore
      .option('--name <name>', 'name of the shoot (default: the first path’s)')
      .action(async (paths: string[], flags: SendFlags) => {
        const { send } = await import('./send.js');
        done(await send(paths, flags, context));
      });
  addNotes(addAdviceOptions(addSaveLookOptions(addOutputOptions(addPlanOptions(send)))), {
    notes: [EXIT_STATUS],
    examples: [
      'stopledger send saturday/ --to http://127.0.0.1:4180 --out saturday-report',
      'SERVICE_TOKEN=… stopledger send saturday/ --to https://audit.example --json > saturday.json',
    ],
  });

  const watch = add('watch', 'judge each new frame of a folder as it lands, until stopped with Ctrl-C')
    .argument('<dir>', 'folder that frames are written to, by tethering, a card copy or a share')
    .option('--no-recursive', 'only what lies straight in the folder')
    .option('--poll', 'look at the folder again and again: for network folders, which tell of new files badly')
    .option(...CALIBRATIONS)
    .option('--patience <seconds>', 'a file that cannot be read counts as unreadable once it stood still so long', '5')
    .option('--no-bell', 'no bell on a flagged frame (it rings on a terminal only)')
    .option('--state <folder>', 'where measurements are kept (default: in --out, else in your state folder)')
    .option('--forget', 'delete what is kept of this folder, and end')
    .action(async (dir: string, flags: WatchFlags) => {
      const { watch } = await import('./watch/watch.js');
      done(await watch(dir, flags, context));
    });
  const watchOutput = {
    json: 'one JSON object a line and nothing else on standard output',
    quiet: 'only frames that are flagged, and the counts and findings at the end',
  };
  addNotes(addOutputOptions(addPlanOptions(watch), watchOutput), {
    notes: [
      'Set-ups and their baselines form as frames come; an earlier frame that later ones show in another light is told again. With --json each line is one object (samples/schemas/watch-event.schema.json).',
      'Measurements are kept, so that the next start measures nothing again. They hold levels, outlines of people and, with --out, previews: personal data. What is kept of a frame goes when its file does; --forget deletes all.',
      EXIT_STATUS,
    ],
    examples: [
      'stopledger watch tethered/',
      'stopledger watch tethered/ --out today --plan plan.json',
      'stopledger watch /mnt/share/in --poll --quiet',
      `stopledger watch tethered/ --json | jq -c 'select(.event == "frame") | [.frame.name, .frame.verdict]'`,
      'stopledger watch tethered/ --forget',
    ],
  });

  const serve = add('serve', 'the service; configured by environment variables').action(async () => {
    const { serve } = await import('./serve.js');
    done(await serve(context));
  });
  addNotes(serve, {
    notes: ['It ends on SIGINT or SIGTERM. Exit status: 0 ended as told, 1 it could not start.'],
    examples: ['stopledger serve', 'PORT=8080 DATA_DIR=/srv/stopledger stopledger serve'],
  });

  const calibrate =
    addFrameArguments(add('calibrate', 'fit a camera’s tone response to a bracket of a still scene, and keep it')) // prettier-ignore
      .option('--into <file>', 'file to keep it in (default: calibrations.json in your configuration folder)')
      .option('--out <folder>', 'also draw the fitted response there, as SVG')
      .option('--dry-run', 'print the fit and keep nothing')
      .action(async (paths: string[], flags: CalibrateFlags) => {
        const { calibrateCommand } = await import('./calibrate.js');
        done(await calibrateCommand(paths, flags, context));
      });
  addNotes(calibrate, {
    notes: [
      'Three frames or more of one still scene, exposure changed by shutter, aperture or ISO.',
      'Exit status: 0 fitted, 1 refused or not readable, with the reason.',
    ],
    examples: ['stopledger calibrate bracket/ --out bracket-fit', 'stopledger calibrate bracket/*.JPG --dry-run'],
  });

  addPlanArithmetic(top, async (name, flags) => {
    const { plan } = await import('./plan.js');
    done(plan(name, flags, context));
  });

  const completion = add('completion', 'print a script that completes commands and options in a shell')
    .addArgument(new Argument('<shell>', 'which shell').choices(SHELLS))
    .action((shell: Shell) => {
      context.stdout.write(completionScript(top, shell));
      done(0);
    });
  addNotes(completion, {
    notes: [
      'zsh looks in the folders of fpath: put fpath+=(~/.zfunc) before compinit in ~/.zshrc.',
      'Exit status: 0 printed, 1 no such shell.',
    ],
    examples: [
      'stopledger completion bash > ~/.local/share/bash-completion/completions/stopledger',
      'stopledger completion zsh > ~/.zfunc/_stopledger',
    ],
  });
  return top;
}

/** Runs the command line; `args` without the interpreter and script. Never throws: what went wrong is told on stderr. */
export async function main(args: readonly string[], context: CommandContext): Promise<ExitStatus> {
  let status: ExitStatus = 1;
  try {
    await createProgram(context, (given) => (status = given)).parseAsync([...args], { from: 'user' });
    return status;
  } catch (thrown) {
    // Commander has told the user already; help and version asked for are no failure.
    if (thrown instanceof CommanderError) return thrown.exitCode === 0 ? 0 : 1;
    const error = asStopledgerError(thrown);
    const stopped = error.code === 'shutting-down' || (thrown instanceof Error && thrown.name === 'AbortError');
    context.stderr.write(
      // What went wrong by itself while the job was being stopped is told as ever.
      context.signal.aborted && stopped
        ? 'stopped before the job was done\n'
        : `stopledger: ${error.message} (${error.code})\n`,
    );
    return 1;
  }
}
