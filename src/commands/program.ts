import { Command, CommanderError } from 'commander';
import { addAdviceOptions } from './advice-options.js';
import type { AuditFlags } from './audit.js';
import type { CalibrateFlags } from './calibrate.js';
import { addSaveLookOptions } from './look-options.js';
import { addPlanArithmetic } from './plan-arithmetic-options.js';
import { addPlanOptions } from './plan-options.js';
import { addOutputOptions } from './present.js';
import type { SendFlags } from './send.js';
import { type CommandContext, type ExitStatus } from './terminal.js';
import { asStopledgerError } from '../errors.js';
import { VERSION } from '../version.js';
import type { WatchFlags } from './watch/watch.js';

const EXIT_HELP = `
Exit status: 0 all frames are consistent, 2 something is flagged, 1 the job could not be done.`;

// Each command is loaded when it is asked for: help and a mistyped option answer at once.
function program(context: CommandContext, done: (status: ExitStatus) => void): Command {
  const top = new Command('stopledger')
    .description('Audits exposure and lighting consistency across a photo shoot, in stops of light.')
    .version(VERSION)
    .exitOverride()
    .configureOutput({
      writeOut: (text) => void context.stdout.write(text),
      writeErr: (text) => void context.stderr.write(text),
    })
    .addHelpText('after', EXIT_HELP);

  addAdviceOptions(addSaveLookOptions(addOutputOptions(addPlanOptions(top.command('audit')))))
    .description('measure and judge files or folders on this machine, no service needed')
    .argument('<path...>', 'image files, or folders to look through')
    .option('--calibrations <file>', 'calibrations to use (default: those kept by calibrate)')
    .addHelpText(
      'after',
      `${EXIT_HELP}\n\nExamples:\n  stopledger audit saturday/ --out saturday-report\n  stopledger audit card-a/ card-b/ --tolerance 1/4 --light flash\n  stopledger audit saturday/ --save-look hall.look.json\n  stopledger audit sunday/ --look hall.look.json\n  stopledger audit gallery/ --finished\n  stopledger audit saturday/ --json | jq .summary\n  stopledger audit saturday/ --sidecars-beside --out saturday-report --masks tiff16`,
    )
    .action(async (paths: string[], flags: AuditFlags) => {
      const { audit } = await import('./audit.js');
      done(await audit(paths, flags, context));
    });

  addAdviceOptions(addSaveLookOptions(addOutputOptions(addPlanOptions(top.command('send')))))
    .description('have files or folders measured by a running service, wait, print the same')
    .argument('<path...>', 'image files, or folders to look through')
    .requiredOption('--to <url>', 'address of the service')
    .option(
      '--token <token>',
      'bearer token; SERVICE_TOKEN in the environment does the same and shows in no process list',
    )
    .option('--name <name>', 'name of the shoot (default: the first path’s)')
    .addHelpText(
      'after',
      `${EXIT_HELP}\n\nExample:\n  stopledger send saturday/ --to http://127.0.0.1:4180 --out saturday-report`,
    )
    .action(async (paths: string[], flags: SendFlags) => {
      const { send } = await import('./send.js');
      done(await send(paths, flags, context));
    });

  addOutputOptions(addPlanOptions(top.command('watch')))
    .description('judge each new frame of a folder as it lands, until stopped with Ctrl-C')
    .argument('<dir>', 'folder that frames are written to, by tethering, a card copy or a share')
    .option('--no-recursive', 'only what lies straight in the folder')
    .option('--poll', 'look at the folder again and again: for network folders, which tell of new files badly')
    .option('--calibrations <file>', 'calibrations to use (default: those kept by calibrate)')
    .option('--patience <seconds>', 'a file that cannot be read counts as unreadable once it stood still so long', '5')
    .option('--no-bell', 'no bell on a flagged frame (it rings on a terminal only)')
    .option('--state <folder>', 'where measurements are kept (default: in --out, else in your state folder)')
    .option('--forget', 'delete what is kept of this folder, and end')
    .addHelpText(
      'after',
      `${EXIT_HELP}\n\nExamples:\n  stopledger watch tethered/\n  stopledger watch tethered/ --out today --plan plan.json\n  stopledger watch /mnt/share/in --poll --quiet\n  stopledger watch tethered/ --json | jq -c 'select(.event == "frame") | [.frame.name, .frame.verdict]'\n  stopledger watch tethered/ --forget`,
    )
    .action(async (dir: string, flags: WatchFlags) => {
      const { watch } = await import('./watch/watch.js');
      done(await watch(dir, flags, context));
    });

  top
    .command('serve')
    .description('the service; configured by environment variables')
    .action(async () => {
      const { serve } = await import('./serve.js');
      done(await serve(context));
    });

  top
    .command('calibrate')
    .description('fit a camera’s tone response to a bracket of a still scene, and keep it')
    .argument('<path...>', 'three frames or more of one still scene, exposure changed by shutter, aperture or ISO')
    .option('--into <file>', 'file to keep it in (default: calibrations.json in your configuration folder)')
    .option('--out <folder>', 'also draw the fitted response there, as SVG')
    .option('--dry-run', 'print the fit and keep nothing')
    .addHelpText(
      'after',
      '\nExit status: 0 fitted, 1 refused or not readable, with the reason.\n\nExample:\n  stopledger calibrate bracket/ --out bracket-fit',
    )
    .action(async (paths: string[], flags: CalibrateFlags) => {
      const { calibrateCommand } = await import('./calibrate.js');
      done(await calibrateCommand(paths, flags, context));
    });

  addPlanArithmetic(top, async (name, flags) => {
    const { plan } = await import('./plan.js');
    done(plan(name, flags, context));
  });
  return top;
}

/** Runs the command line; `args` without the interpreter and script. Never throws: what went wrong is told on stderr. */
export async function main(args: readonly string[], context: CommandContext): Promise<ExitStatus> {
  let status: ExitStatus = 1;
  try {
    await program(context, (given) => (status = given)).parseAsync([...args], { from: 'user' });
    return status;
  } catch (thrown) {
    // Commander has told the user already; help and version asked for are no failure.
    if (thrown instanceof CommanderError) return thrown.exitCode === 0 ? 0 : 1;
    const error = asStopledgerError(thrown);
    context.stderr.write(
      context.signal.aborted ? 'stopped before the job was done\n' : `stopledger: ${error.message} (${error.code})\n`,
    );
    return 1;
  }
}
