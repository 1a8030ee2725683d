/** Which room may import which; `npm run check` runs it. See DEVELOPERS.md, "Rooms". */
const PURE = '^src/(photometry|shoot|plan)/';
module.exports = {
  forbidden: [
    { name: 'no-cycles', severity: 'error', from: {}, to: { circular: true } },
    {
      name: 'pure-rooms-have-no-io',
      comment: 'photometry, shoot and plan are pure: no I/O, no Node modules, no packages but zod',
      severity: 'error',
      from: { path: PURE },
      to: { dependencyTypes: ['core', 'npm', 'npm-dev', 'npm-peer', 'npm-optional'], pathNot: '^node_modules/zod/' },
    },
    {
      name: 'pure-rooms-import-only-pure-rooms',
      severity: 'error',
      from: { path: PURE },
      to: { path: '^(src|worker)/', pathNot: '^src/(photometry|shoot|plan|contracts)/|^src/errors\\.ts$' },
    },
    {
      name: 'photometry-stands-alone',
      severity: 'error',
      from: { path: '^src/photometry/' },
      to: { path: '^src/', pathNot: '^src/photometry/|^src/errors\\.ts$' },
    },
    {
      name: 'contracts-import-nothing-of-ours',
      severity: 'error',
      from: { path: '^src/contracts/' },
      to: { path: '^(src|worker)/', pathNot: '^src/contracts/|^src/errors\\.ts$' },
    },
    {
      name: 'worker-knows-no-service',
      severity: 'error',
      from: { path: '^worker/', pathNot: '^worker/main\\.ts$' },
      to: { path: '^src/', pathNot: '^src/(photometry|contracts)/|^src/errors\\.ts$' },
    },
    {
      name: 'worker-entry-only-starts',
      comment:
        'worker/main.ts is where a worker process begins; what it runs belongs to the queue, which owns the pool',
      severity: 'error',
      from: { path: '^worker/main\\.ts$' },
      to: { pathNot: '^src/queue/worker-process\\.ts$' },
    },
    {
      name: 'src-starts-worker-only-through-queue',
      severity: 'error',
      from: { path: '^src/', pathNot: '^src/queue/' },
      to: { path: '^worker/' },
    },
    {
      name: 'no-dev-packages-in-product',
      severity: 'error',
      from: { path: '^(src|worker)/' },
      to: { dependencyTypes: ['npm-dev'] },
    },
    {
      name: 'embedded-loads-no-clients-of-servers',
      comment: 'PostgreSQL and buckets are loaded when they are asked for (`await import`), types aside',
      severity: 'error',
      from: { path: '^src/', pathNot: '^src/store/(postgres|s3)/' },
      to: { path: '^src/store/(postgres|s3)/', dynamic: false, dependencyTypesNot: ['type-only'] },
    },
    { name: 'no-unresolvable', severity: 'error', from: {}, to: { couldNotResolve: true } },
    {
      name: 'no-orphans',
      severity: 'error',
      from: {
        orphan: true,
        pathNot:
          '\\.d\\.ts$|^src/(main|cli|write-schemas|write-docs)\\.ts$|^worker/(main|pool-process|kernels/[a-z-]+)\\.ts$',
      },
      to: {},
    },
  ],
  options: {
    doNotFollow: { path: 'node_modules' },
    tsConfig: { fileName: 'tsconfig.json' },
    tsPreCompilationDeps: true,
    enhancedResolveOptions: {
      exportsFields: ['exports'],
      conditionNames: ['import', 'node', 'default', 'types'],
      extensions: ['.ts', '.js'],
    },
  },
};
