import { spawn, spawnSync } from 'node:child_process';
import { chmodSync, copyFileSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { completionScript } from '../../src/commands/completion.js';
import { commandsOf, fullName, notesOf } from '../../src/commands/help.js';
import { cliMarkdown, manPage } from '../../src/commands/manual.js';
import { createProgram } from '../../src/commands/program.js';
import { ShootReport } from '../../src/contracts/report.js';
import { VERSION } from '../../src/version.js';
import { REPOSITORY, recordingContext, runCli } from '../support/cli.js';
import { temporaryFolder } from '../support/temporary-folder.js';

const PERSON = join(REPOSITORY, 'tests', 'fixtures', 'people', 'cole-side45.jpg');
const program = createProgram(recordingContext(), () => undefined);

/** What bash offers behind these words, by the real script in a real bash. */
function completedByBash(...words: string[]): string[] {
  const list = words.map((word) => `'${word}'`).join(' ');
  const script = `${completionScript(program, 'bash')}
COMP_WORDS=(stopledger ${list}); COMP_CWORD=${words.length}; _stopledger; printf '%s\\n' "\${COMPREPLY[@]}"`;
  const { stdout, stderr, status } = spawnSync('bash', ['--norc', '--noprofile', '-eu'], { input: script, encoding: 'utf8' }); // prettier-ignore
  expect({ stderr, status }).toEqual({ stderr: '', status: 0 });
  return stdout.split('\n').filter(Boolean);
}

describe('completion', () => {
  it('bash: commands, options, choices, deeper commands; nothing where a file name belongs', () => {
    expect(completedByBash('')).toEqual(expect.arrayContaining(['audit', 'watch', 'completion']));
    expect(completedByBash('wa')).toEqual(['watch']);
    expect(completedByBash('audit', '--to')).toEqual(['--tolerance']);
    expect(completedByBash('audit', 'card/', '--light', 'f')).toEqual(['flash']);
    expect(completedByBash('audit', '--plan', 'x')).toEqual([]);
    expect(completedByBash('plan', 'me')).toEqual(['meter']);
    expect(completedByBash('plan', 'move', '--to-')).toEqual(['--to-raised']);
    expect(completedByBash('completion', '')).toEqual(['bash', 'zsh']);
  });

  it('bash: registers itself', () => {
    const { stdout } = spawnSync('bash', ['--norc', '-c', `${completionScript(program, 'bash')}\ncomplete -p stopledger`], { encoding: 'utf8' }); // prettier-ignore
    expect(stdout).toMatch(/complete -o default -F _stopledger stopledger/);
  });

  it.skipIf(spawnSync('zsh', ['--version']).error !== undefined)(
    'zsh takes the script, and it defines a function for every command (skipped without zsh)',
    () => {
      const script = completionScript(program, 'zsh');
      const checked = spawnSync('zsh', ['-fn'], { input: script, encoding: 'utf8' });
      expect(checked).toMatchObject({ status: 0, stderr: '' });
      const listed = spawnSync('zsh', ['-f'], { input: `compdef() { }\n${script}\nprint -l \${(k)functions}`, encoding: 'utf8' }); // prettier-ignore
      const wanted = commandsOf(program).map((command) => `_${fullName(command).replaceAll(' ', '_')}`);
      expect(listed.stdout.split('\n')).toEqual(expect.arrayContaining(wanted));
    },
  );

  it.skipIf(spawnSync('zsh', ['--version']).error !== undefined)(
    'zsh: completes the first time that it is loaded by its file name, and registers itself when sourced (skipped without zsh)',
    () => {
      const folder = temporaryFolder();
      const file = join(folder, '_stopledger');
      writeFileSync(file, completionScript(program, 'zsh'));
      const stubs = 'compdef() { print registered $1 }; _arguments() { print completed }';
      const ran = (how: string): string => spawnSync('zsh', ['-fc', `${stubs}; ${how}`], { encoding: 'utf8' }).stdout;
      expect(ran(`fpath=(${folder}); autoload -Uz _stopledger; _stopledger`)).toBe('completed\n');
      expect(ran(`source ${file}`)).toBe('registered _stopledger\n');
    },
  );
});

describe('help and manual', () => {
  it('docs/cli.md and man/stopledger.1 say what the program says (npm run docs)', () => {
    expect(readFileSync(join(REPOSITORY, 'docs', 'cli.md'), 'utf8')).toBe(cliMarkdown(program));
    expect(readFileSync(join(REPOSITORY, 'man', 'stopledger.1'), 'utf8')).toBe(manPage(program, VERSION));
  });

  it.each(commandsOf(program).map((command) => [fullName(command), command] as const))(
    '%s has notes and examples, every one of which the program itself understands',
    async (_, command) => {
      const { notes, examples } = notesOf(command);
      expect(notes.join(' ')).toContain('Exit status: ');
      expect(examples.length).toBeGreaterThan(0);
      for (const example of examples) {
        const words = [...(/(?:^| )stopledger ([^|>]*)/.exec(example)?.[1] ?? '').matchAll(/"([^"]*)"|'([^']*)'|(\S+)/g)].map((m) => m[1] ?? m[2] ?? m[3] ?? ''); // prettier-ignore
        const parsing = createProgram(recordingContext(), () => undefined);
        let ran = '';
        for (const one of commandsOf(parsing)) {
          if (one.commands.length === 0) one.action(() => void (ran = fullName(one)));
        }
        if (words[0] === 'help') continue;
        await parsing.parseAsync(words, { from: 'user' });
        expect(`stopledger ${words.join(' ')}`.startsWith(ran), example).toBe(true);
        expect(ran, example).not.toBe('');
      }
    },
  );
});

describe('lists of files, patterns, readers that leave', () => {
  function shoot(): string {
    const folder = temporaryFolder();
    mkdirSync(join(folder, 'card a'));
    for (const name of ['P1.jpg', 'P2.jpg', join('card a', 'P3.jpg')]) copyFileSync(PERSON, join(folder, name));
    return folder;
  }

  /** The command line with something on its standard input. */
  function withInput(args: string[], input: string) {
    const { stdout, stderr, status } = spawnSync(process.execPath, ['--import', 'tsx', 'src/cli.ts', ...args], {
      cwd: REPOSITORY,
      env: { PATH: process.env['PATH'], HOME: process.env['HOME'], WORKERS: '1' },
      input,
      encoding: 'utf8',
      maxBuffer: 1 << 26,
    });
    return { stdout, stderr, status };
  }

  it('NUL separated from standard input', { timeout: 120_000 }, () => {
    const folder = shoot();
    const list = [join(folder, 'P2.jpg'), join(folder, 'card a', 'P3.jpg'), ''].join('\0');
    const ran = withInput(['audit', '-', '-0', '--json'], list);
    expect(ran).toMatchObject({ status: 0, stderr: '' });
    const report = ShootReport.parse(JSON.parse(ran.stdout));
    expect(report.frames.map(({ name }) => name)).toEqual(['P2.jpg', 'P3.jpg']);
  });

  it('a pattern that the shell left alone', { timeout: 120_000 }, async () => {
    const ran = await runCli(['audit', join(shoot(), '**', 'P[13].jpg'), '--quiet']);
    expect(ran).toMatchObject({ status: 0, stderr: '' });
    expect(ran.stdout).toContain('2 of 2 frames consistent');
  });

  it('| head: the rest is still done, quietly, and the status is that of the job', { timeout: 120_000 }, async () => {
    const folder = shoot();
    const out = join(temporaryFolder(), 'report');
    const child = spawn(process.execPath, ['--import', 'tsx', 'src/cli.ts', 'audit', folder, '--out', out, '--json'], {
      cwd: REPOSITORY,
      env: { PATH: process.env['PATH'], HOME: process.env['HOME'], WORKERS: '1' },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    child.stdout.destroy();
    let stderr = '';
    child.stderr.setEncoding('utf8').on('data', (text: string) => (stderr += text));
    const status = await new Promise((resolve) => child.on('close', resolve));
    expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
    expect(readFileSync(join(out, 'report.html'), 'utf8')).toContain('P1.jpg');
  });

  it.each([
    ['an empty list', ['audit', '-'], '', /the list of files from standard input is empty.*no-frames/],
    ['a list that names what is not there', ['audit', '-'], '/no/such/frame.jpg\n', /there is no such file/],
    ['a pattern that nothing matches', ['audit', 'no-such-*.jpg'], '', /PATH "no-such-\*\.jpg": nothing matches/],
    ['-0 without a list', ['audit', 'x', '-0'], '', /--null: expected together with --files-from/],
    ['a list file that is not there', ['audit', '--files-from', '/no/list'], '', /--files-from "\/no\/list" cannot be read/],
  ])('%s: ends with 1 and says why', (_, args, input, reason) => {
    const ran = withInput(args, input);
    expect(ran).toMatchObject({ status: 1, stdout: '' });
    expect(ran.stderr).toMatch(reason);
  }); // prettier-ignore

  it('an output folder that may not be written is told before anything is measured', () => {
    const folder = shoot();
    const out = join(temporaryFolder(), 'file');
    writeFileSync(out, 'a file where the folder should be');
    chmodSync(out, 0o400);
    const ran = withInput(['audit', folder, '--out', out], '');
    expect(ran).toMatchObject({ status: 1, stdout: '' });
    expect(ran.stderr).toMatch(/output folder ".*" cannot be made or written: .*bad-usage/);
  });
});
