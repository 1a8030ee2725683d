import type { Command } from 'commander';
import { wrap } from '../render/text.js';

const COLUMNS = 80;

export interface HelpNotes {
  /** Plain sentences, such as what the exit status means. */
  notes: readonly string[];
  /** Whole command lines. */
  examples: readonly string[];
}

const NOTES = new WeakMap<Command, HelpNotes>();

export const EXIT_STATUS =
  'Exit status: 0 all frames are consistent, 2 something is flagged, 1 the job could not be done.';

/** Adds what stands after a command's options in its help, in its page of the manual and in docs/cli.md. */
export function addNotes(command: Command, help: HelpNotes): Command {
  NOTES.set(command, help);
  const examples = help.examples.length === 0 ? '' : `\n\nExample${help.examples.length === 1 ? '' : 's'}:\n${help.examples.map((line) => `  ${line}`).join('\n')}`; // prettier-ignore
  const notes = help.notes.map((note) => wrap(note, COLUMNS).join('\n')).join('\n\n');
  return command.addHelpText('after', `\n${notes}${examples}`);
}

export const notesOf = (command: Command): HelpNotes => NOTES.get(command) ?? { notes: [], examples: [] };

/** A command's full name, such as `stopledger plan meter`. */
export const fullName = (command: Command): string =>
  command.parent === null ? command.name() : `${fullName(command.parent)} ${command.name()}`;

/** A command and all below it, in order of help; `help` itself is left out. */
export function commandsOf(command: Command): Command[] {
  return [command, ...command.commands.filter((one) => one.name() !== 'help').flatMap(commandsOf)];
}
