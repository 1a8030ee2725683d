import type { Command } from 'commander';
import type { ShootReport } from '../contracts/report.js';
import { wantsColour } from '../render/terminal-paint.js';
import { renderFindings, renderTerminalReport } from '../render/terminal.js';
import type { CommandContext, ExitStatus } from './terminal.js';

export interface OutputFlags {
  out?: string;
  json?: boolean;
  quiet?: boolean;
}

const USUAL = {
  json: 'print the report as JSON and nothing else on standard output',
  quiet: 'no progress, and only the counts and findings instead of the table',
};

/** @param words what --json and --quiet do where it is not the usual */
export function addOutputOptions(command: Command, words: { json: string; quiet: string } = USUAL): Command {
  return command
    .option('--out <folder>', 'write report.json, report.html, frames.csv, measurements and previews there')
    .option('--json', words.json)
    .option('--quiet', words.quiet);
}

/** Prints a report the way the flags ask for. */
export function printReport(report: ShootReport, flags: OutputFlags, context: CommandContext): void {
  if (flags.json === true) {
    context.stdout.write(`${JSON.stringify(report, null, 2)}\n`);
    return;
  }
  const options = { colour: wantsColour(context.stdout, context.env), columns: context.stdout.columns ?? 100 };
  const text = flags.quiet === true ? renderFindings(report, options) : renderTerminalReport(report, options);
  context.stdout.write(`${text}\n`);
}

/** 0 where every frame is consistent and no set-up is off its plan or look, else 2. */
export function exitStatusOf({ summary, planCompliance, setups }: ShootReport): ExitStatus {
  const asMeant =
    planCompliance.every(({ verdict }) => verdict !== 'off-plan') &&
    setups.every(({ look }) => look?.verdict !== 'off');
  return asMeant && summary.consistent === summary.frames ? 0 : 2;
}
