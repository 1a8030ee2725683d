import { type Command, Option } from 'commander';
import { addNotes } from './help.js';
import type { PlanCommandName, PlanFlagsByName } from './plan-flags.js';

type Run = <Name extends PlanCommandName>(name: Name, flags: PlanFlagsByName[Name]) => Promise<void>;

const EXIT_PLAN = 'Exit status: 0 answered, 1 the question could not be read.';

const LENGTHS = 'Lengths are metres, or have a unit: 60cm, 5ft, 5ft6in.';

/** `stopledger plan …`: set-up arithmetic, one sub-command a question. `run` is called with what was asked. */
export function addPlanArithmetic(top: Command, run: Run): void {
  const plan = top
    .command('plan')
    .description('set-up arithmetic: meter reading to target, exposure trades, guide numbers, fall-off, ratio');
  addNotes(plan, {
    notes: [EXIT_PLAN],
    examples: [
      'stopledger plan meter --reads f/8 --target f/11',
      'stopledger plan falloff --distance 2 --raised 0.5 --panel 0.9x1.2',
    ],
  });

  const add = <Name extends PlanCommandName>(name: Name, description: string, examples: string[], more?: string) => {
    const command = plan
      .command(name)
      .description(description)
      .action(async (flags: PlanFlagsByName[Name]) => run(name, flags));
    return addNotes(command, {
      notes: more === undefined ? [EXIT_PLAN] : [more, EXIT_PLAN],
      examples: examples.map((line) => `stopledger plan ${name} ${line}`),
    });
  };

  lastOptions(
    add('meter', 'from a meter reading to a wanted aperture: how far to turn the light', [
      '--reads f/8+0.3 --target f/11 --power 1/4',
      '--ev 12 --shutter 1/125 --iso 100 --target f/4 --light continuous',
      '--lux 2560 --shutter 1/60 --iso 100 --target f/5.6 --light continuous',
    ])
      .option('--reads <f-number>', 'what the meter shows; tenths after a plus: f/8+0.3')
      .option('--ev <ev>', 'or an exposure value at ISO 100, with --shutter and --iso')
      .option('--lux <lux>', 'or incident light in lux, with --shutter and --iso')
      .option(
        '--meter-constant <c>',
        "with --lux: the meter's constant in lx s, 240 to 540 (default 250, flat receptor)",
      )
      .option('--shutter <time>', 'shutter time to shoot at, with --ev or --lux')
      .option('--iso <speed>', 'ISO speed to shoot at')
      .requiredOption('--target <f-number>', 'aperture you want to shoot at')
      .option('--power <share>', 'power that the light stands at: 1/4, 25%, 1/4+1/3'),
  );

  add('trade', 'settings that keep the exposure', [
    '--aperture f/8 --shutter 1/125 --iso 100 --light continuous',
    '--aperture f/8 --shutter 1/125 --iso 100 --light flash --sync 1/200 --to-aperture f/5.6',
  ])
    .requiredOption('--aperture <f-number>', 'aperture now')
    .requiredOption('--shutter <time>', 'shutter time now')
    .requiredOption('--iso <speed>', 'ISO speed now')
    .addOption(lightOption('which light makes the picture').makeOptionMandatory())
    .option('--sync <time>', 'fastest shutter that the flash keeps up with')
    .option('--to-aperture <f-number>', 'aperture to go to')
    .option('--to-shutter <time>', 'shutter time to go to')
    .option('--to-iso <speed>', 'ISO speed to go to')
    .option('--json', 'print the numbers as JSON and nothing else on standard output');

  add(
    'guide',
    'guide-number arithmetic: of distance, aperture and power, two give the third',
    [
      '--number 32m --distance 4',
      '--number 105ft --distance 13ft --aperture f/5.6 --iso 200',
      '--number 45m --aperture f/8 --power 1/4',
    ],
    LENGTHS,
  )
    .requiredOption('--number <guide number>', 'guide number at full power, with its unit: 32m or 105ft')
    .option('--number-iso <speed>', 'ISO speed that the guide number is told for (default 100)')
    .option('--distance <length>', 'from the flash to the subject')
    .option('--aperture <f-number>', 'aperture you want to shoot at')
    .option('--power <share>', 'power of the flash (full, if only the distance or the aperture is told)')
    .option('--iso <speed>', 'ISO speed to shoot at (default 100)')
    .option('--json', 'print the numbers as JSON and nothing else on standard output');

  lastOptions(
    withLightPlace(
      add(
        'falloff',
        'how a light falls off down a standing body, and with distance',
        [
          '--distance 2',
          '--distance 1.5 --raised 0.6 --round 1.2 --aim waist',
          '--distance 6ft --panel 2x3ft --below 1.5m',
        ],
        LENGTHS,
      ),
    ),
  );

  lastOptions(
    withLightPlace(
      add(
        'move',
        'what moving a light does to its fall-off and to the power that it needs',
        ['--distance 1.5 --to 3 --raised 0.5 --panel 0.9x1.2 --power 1/8', '--distance 5ft --to 8ft --aperture f/8'],
        LENGTHS,
      ),
    )
      .requiredOption('--to <length>', 'level distance to move it to')
      .option('--to-raised <length>', 'height above the face to move it to (default: as it is)')
      .option('--power <share>', 'power that the light stands at')
      .option('--aperture <f-number>', 'aperture set now'),
  );

  lastOptions(
    add('ratio', 'lighting ratio of key and fill, by both definitions', [
      '--key f/8 --fill f/5.6',
      '--lit f/11 --shadow f/5.6',
      '--ratio 3:1 --definition additive --key f/8',
    ])
      .option('--key <f-number>', 'reading of the key light alone')
      .option('--fill <f-number>', 'reading of the fill light alone')
      .option('--lit <f-number>', 'reading of the lit side with all lights on')
      .option('--shadow <f-number>', 'reading of the shadow side with all lights on')
      .option('--ratio <ratio>', 'ratio that you want, such as 3:1')
      .addOption(
        new Option(
          '--definition <which>',
          'what the ratio means: additive is (key + fill) : fill, source is key : fill',
        ).choices(['additive', 'source']),
      ),
  );
}

function lightOption(description: string): Option {
  return new Option('--light <kind>', description).choices(['flash', 'continuous']);
}

function lastOptions(command: Command): Command {
  return command
    .addOption(lightOption('which light it is, for the cautions'))
    .option('--json', 'print the numbers as JSON and nothing else on standard output');
}

function withLightPlace(command: Command): Command {
  return command
    .requiredOption('--distance <length>', 'level distance from the middle of the light to the face')
    .option('--raised <length>', 'middle of the light above the face, minus for below (default 0)')
    .option('--round <diameter>', 'a round light of this diameter (neither this nor --panel: a small bare light)')
    .option('--panel <width x height>', 'a rectangular light: 0.6x0.9, 2x3ft')
    .addOption(
      new Option(
        '--aim <place>',
        'what a round light or panel points at (default face; level: straight ahead)',
      ).choices(['face', 'waist', 'knee', 'ankle', 'level']),
    )
    .option('--stature <length>', 'height of the person (default 1.7 m)')
    .option('--below <lengths>', 'places as lengths below the face, commas between, in place of waist, knee, ankle');
}
