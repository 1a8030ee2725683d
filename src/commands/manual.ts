import type { Argument, Command, Option } from 'commander';
import { commandsOf, fullName, notesOf } from './help.js';

const usageOf = (command: Command): string => `${fullName(command)} ${command.createHelp().commandUsage(command).replace(/^\S+(?: \S+)*? (?=[[<]|$)/, '')}`.trim(); // prettier-ignore

interface Term {
  term: string;
  meaning: string;
}

const optionTerm = (option: Option): Term => {
  const preset = option.defaultValue === undefined || typeof option.defaultValue === 'boolean' ? '' : ` (default ${String(option.defaultValue)})`; // prettier-ignore
  const choices = option.argChoices === undefined ? '' : ` (${option.argChoices.join(', ')})`;
  return { term: option.flags, meaning: `${option.description}${choices}${preset}` };
};
const argumentTerm = (argument: Argument): Term => ({
  term: argument.variadic ? `${argument.name()}...` : argument.name(),
  meaning: `${argument.description}${argument.argChoices === undefined ? '' : ` (${argument.argChoices.join(', ')})`}`,
});
const termsOf = (command: Command): Term[] => [
  ...command.registeredArguments.map(argumentTerm),
  ...command
    .createHelp()
    .visibleOptions(command)
    .filter(({ long }) => long !== '--help')
    .map(optionTerm),
];

const cell = (text: string): string => text.replace(/[|*_<]/g, '\\$&');

function markdownOf(command: Command): string {
  const { notes, examples } = notesOf(command);
  const terms = termsOf(command);
  return [
    `## ${fullName(command)}`,
    `${sentence(command.description())}`,
    `\`\`\`text\n${usageOf(command)}\n\`\`\``,
    ...(terms.length === 0
      ? []
      : [['| | |', '| --- | --- |', ...terms.map(({ term, meaning }) => `| \`${term.replaceAll('|', '\\|')}\` | ${cell(meaning)} |`)].join('\n')]), // prettier-ignore
    ...notes,
    ...(examples.length === 0 ? [] : [`\`\`\`sh\n${examples.join('\n')}\n\`\`\``]),
  ].join('\n\n');
}

const sentence = (text: string): string => `${text.charAt(0).toUpperCase()}${text.slice(1)}${text.endsWith('.') ? '' : '.'}`; // prettier-ignore

/** The page of all commands, in Markdown. */
export const cliMarkdown = (program: Command): string =>
  `# The command line\n\nWritten by \`npm run docs\` from the program itself.\n\n${commandsOf(program).map(markdownOf).join('\n\n')}\n`;

/** Text for roff: backslashes, and dots and quotes that begin a line, are no instructions; a hyphen is a hyphen. */
const roff = (text: string): string =>
  text
    .replaceAll('\\', '\\e')
    .replaceAll('-', '\\-')
    .replace(/^(['.])/gm, '\\&$1');

const MAN_SECTION = '1';

/** The page of the manual (man(7)). */
export function manPage(program: Command, version: string): string {
  const commands = commandsOf(program);
  const section = (command: Command): string => {
    const { notes, examples } = notesOf(command);
    return [
      `.SH ${roff(fullName(command)).toUpperCase()}`,
      roff(sentence(command.description())),
      `.PP\n.B ${roff(usageOf(command))}`,
      ...termsOf(command).map(({ term, meaning }) => `.TP\n.B ${roff(term)}\n${roff(meaning)}`),
      ...notes.map((note) => `.PP\n${roff(note)}`),
      ...(examples.length === 0 ? [] : [`.PP\n.EX\n${roff(examples.join('\n'))}\n.EE`]),
    ].join('\n');
  };
  return `.TH ${program.name().toUpperCase()} ${MAN_SECTION} "" "${program.name()} ${version}" "User Commands"
.SH NAME
${program.name()} \\- audits exposure and lighting consistency across a photo shoot
.SH SYNOPSIS
${commands
  .filter((command) => command.commands.length === 0)
  .map((command) => `.B ${roff(usageOf(command))}\n.br`)
  .join('\n')}
${commands.map(section).join('\n')}
`;
}
