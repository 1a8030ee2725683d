/** Node's own names of the switch, the newer first: it lost its prefix when it was no experiment any more. */
const SWITCHES = ['--permission', '--experimental-permission'];

/**
 * Arguments under which a measuring process may read files and nothing else: no writing, no other programs. A hostile
 * picture that gets the better of a decoder in WebAssembly finds a process that can do little. Threads are needed to watch
 * for the end of the parent, native code by sharp; what that does itself is not held back by this.
 *
 * Empty for TypeScript entries, whose loader starts a program of its own, and where this Node has no such switch.
 */
export function restrictedRights(entry: string): string[] {
  const known = SWITCHES.find((name) => process.allowedNodeEnvironmentFlags.has(name));
  if (entry.endsWith('.ts') || known === undefined) return [];
  return [
    known,
    '--allow-fs-read=*',
    '--allow-addons',
    '--allow-worker',
    '--disable-warning=ExperimentalWarning',
    '--disable-warning=SecurityWarning',
  ];
}
