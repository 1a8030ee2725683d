import type { Argument, Command, Option } from 'commander';
import { commandsOf, fullName } from './help.js';

export const SHELLS = ['bash', 'zsh'] as const;
export type Shell = (typeof SHELLS)[number];

/** A script that completes the commands, options and fixed choices of this program; all else completes as file names. */
export const completionScript = (program: Command, shell: Shell): string =>
  shell === 'bash' ? bashScript(program) : zshScript(program);

const flagsOf = (option: Option): string[] => [option.long, option.short].filter((flag) => typeof flag === 'string');
const takesValue = (option: Option): boolean => option.required || option.optional;
const subcommandsOf = (command: Command): readonly Command[] => command.createHelp().visibleCommands(command);
const optionsOf = (command: Command): readonly Option[] => command.createHelp().visibleOptions(command);
const argumentsOf = (command: Command): readonly Argument[] => command.registeredArguments;

/** What stands behind the program's own name: `''`, `audit`, `plan meter`. */
const placeOf = (program: Command, command: Command): string => fullName(command).slice(program.name().length).trim();

function bashScript(program: Command): string {
  const name = program.name();
  const places = commandsOf(program);
  const deeper = places.map((command) => {
    const subcommands = subcommandsOf(command).map((one) => one.name());
    const place = placeOf(program, command);
    return subcommands.length === 0 ? '' : `      ${subcommands.map((one) => `'${[place, one].join(' ').trim()}'`).join(' | ')}) place="$deeper" ;;\n`; // prettier-ignore
  });
  const cases = places.map((command) => {
    const withChoices = optionsOf(command).filter((option) => option.argChoices !== undefined);
    const withFiles = optionsOf(command).filter((option) => takesValue(option) && option.argChoices === undefined);
    const words = [
      ...subcommandsOf(command).map((one) => one.name()),
      ...argumentsOf(command).flatMap((argument) => argument.argChoices ?? []),
    ];
    const flags = optionsOf(command).flatMap(flagsOf);
    return [
      `    '${placeOf(program, command)}')`,
      '      case "$previous" in',
      ...withChoices.map((option) => `        ${flagsOf(option).join(' | ')}) COMPREPLY=($(compgen -W '${option.argChoices?.join(' ') ?? ''}' -- "$current")); return ;;`), // prettier-ignore
      ...(withFiles.length === 0 ? [] : [`        ${withFiles.flatMap(flagsOf).join(' | ')}) return ;;`]),
      '      esac',
      `      case "$current" in -*) COMPREPLY=($(compgen -W '${flags.join(' ')}' -- "$current")); return ;; esac`,
      ...(words.length === 0 ? [] : [`      COMPREPLY=($(compgen -W '${words.join(' ')}' -- "$current"))`]),
      '      ;;',
    ].join('\n');
  });
  return `# bash completion of ${name}; made by "${name} completion bash"
_${name}() {
  local current="\${COMP_WORDS[COMP_CWORD]}" previous="\${COMP_WORDS[COMP_CWORD-1]}" place='' word deeper
  COMPREPLY=()
  for word in "\${COMP_WORDS[@]:1:COMP_CWORD-1}"; do
    deeper="\${place:+$place }$word"
    case "$deeper" in
${deeper.join('')}    esac
  done
  case "$place" in
${cases.join('\n')}
  esac
}
complete -o default -F _${name} ${name}
`;
}

/** Inside single quotes of zsh, and inside the brackets of a specification. */
const quoted = (text: string): string => text.replaceAll("'", '’');
const described = (text: string): string => quoted(text).replace(/[[\]:\\]/g, '\\$&');

function zshScript(program: Command): string {
  const name = program.name();
  const functionOf = (command: Command): string => `_${fullName(command).replaceAll(' ', '_')}`;
  const functions = commandsOf(program).map((command) => {
    const options = optionsOf(command).flatMap((option) =>
      flagsOf(option).map((flag) => {
        const what = option.argChoices === undefined ? '_files' : `(${option.argChoices.join(' ')})`;
        const label = quoted(option.attributeName());
        return `'${flag}[${described(option.description)}]${takesValue(option) ? `:${label}:${what}` : ''}'`;
      }),
    );
    const subcommands = subcommandsOf(command);
    if (subcommands.length > 0) {
      return `${functionOf(command)}() {
  local state
  local -a commands=(
${subcommands.map((one) => `    '${one.name()}:${described(one.description())}'`).join('\n')}
  )
  _arguments -C ${options.join(' ')} '1: :->command' '*:: :->rest'
  case $state in
    command) _describe command commands ;;
    rest) (( $+functions[${functionOf(command)}_$words[1]] )) && ${functionOf(command)}_$words[1] ;;
  esac
}`;
    }
    const rest = argumentsOf(command).map((argument) =>
      argument.argChoices === undefined
        ? `'${argument.variadic ? '*' : ''}:${quoted(argument.name())}:_files'`
        : `':${quoted(argument.name())}:(${argument.argChoices.join(' ')})'`,
    );
    return `${functionOf(command)}() {\n  _arguments ${[...options, ...rest].join(' \\\n    ')}\n}`;
  });
  return `#compdef ${name}
# zsh completion of ${name}; made by "${name} completion zsh"
${functions.join('\n')}
# Found by its file name, it completes at once; sourced, it registers itself.
if [[ "\${funcstack[1]}" == _${name} ]]; then _${name} "$@"; else compdef _${name} ${name}; fi
`;
}
