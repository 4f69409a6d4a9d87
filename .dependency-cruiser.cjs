const { join } = require('node:path');

// Imports go down this list only (DEVELOPERS.md, "The house"): a room may import the rooms before it.
const rooms = [
  'problems',
  'quantity',
  'numeric',
  'conformity',
  'limits',
  'catalog',
  'job',
  'geometry',
  'stack',
  'expression',
  'chart',
  'thermal',
  'allowance',
  'cost',
  'route',
  'schedule',
  'inspection',
  'plan',
  'sheets',
];

module.exports = {
  forbidden: [
    { name: 'no-circles', severity: 'error', from: {}, to: { circular: true } },
    {
      name: 'core-is-pure',
      comment: 'core runs in a browser: no Node module',
      severity: 'error',
      from: { path: '^packages/core/src' },
      to: { dependencyTypes: ['core'] },
    },
    {
      name: 'core-knows-no-cli',
      severity: 'error',
      from: { path: '^packages/core/src' },
      to: { path: '^packages/cli' },
    },
    {
      name: 'mathjs-is-an-oracle-of-tests',
      severity: 'error',
      from: { path: '^packages/' },
      to: { path: 'node_modules/mathjs' },
    },
    ...rooms.slice(0, -1).map((room, index) => ({
      name: `no-import-upward-from-${room}`,
      severity: 'error',
      from: { path: `^packages/core/src/${room}/` },
      // `import type` too: a type is a dependency of the reader's head
      // The compiled tables are plain leaves that any room may read.
      to: {
        path: `^packages/core/src/(${rooms.slice(index + 1).join('|')})/`,
        pathNot:
          '^packages/core/src/catalog/generated/iso|^packages/core/src/catalog/generated/threads',
      },
    })),
  ],
  options: {
    doNotFollow: { path: 'node_modules' },
    tsPreCompilationDeps: true,
    // absolute: a relative name breaks the `extends` of that file
    tsConfig: { fileName: join(__dirname, 'packages/core/tsconfig.json') },
  },
};
