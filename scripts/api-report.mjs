// Writes the public face of core, entry by entry, to api/: a change of it shows as a diff.
// `--check` changes nothing and fails if a report is stale. Needs the built types.
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Extractor, ExtractorConfig, ExtractorLogLevel } from '@microsoft/api-extractor';
import { root } from './pack.mjs';

const core = join(root, 'packages', 'core');
const reports = join(root, 'api');
const checking = process.argv.includes('--check');
const { exports } = JSON.parse(readFileSync(join(core, 'package.json'), 'utf8'));
const scratch = mkdtempSync(join(tmpdir(), 'offplate-api-'));
const stale = [];
mkdirSync(reports, { recursive: true });
for (const entry of Object.values(exports)) {
  if (typeof entry !== 'object') continue;
  const name = entry.types.replace('./dist/', '').replace('.d.ts', '');
  const config = ExtractorConfig.prepare({
    configObject: {
      projectFolder: core,
      mainEntryPointFilePath: join(core, entry.types),
      newlineKind: 'lf',
      compiler: { tsconfigFilePath: join(core, 'tsconfig.json') },
      apiReport: {
        enabled: true,
        reportFileName: `${name}.api.md`,
        reportFolder: scratch,
        reportTempFolder: scratch,
      },
      docModel: { enabled: false },
      dtsRollup: { enabled: false },
      tsdocMetadata: { enabled: false },
    },
    configObjectFullPath: undefined,
    packageJsonFullPath: join(core, 'package.json'),
  });
  Extractor.invoke(config, {
    localBuild: true,
    showVerboseMessages: false,
    messageCallback: (message) => {
      if (message.logLevel !== ExtractorLogLevel.Error) message.handled = true;
    },
  });
  const text = readFileSync(join(scratch, `${name}.api.md`), 'utf8');
  const target = join(reports, `${name}.api.md`);
  const present = existsSync(target) ? readFileSync(target, 'utf8') : '';
  if (present === text) continue;
  if (checking) stale.push(`api/${name}.api.md: run \`pnpm run api\` and read the diff`);
  else writeFileSync(target, text);
}
rmSync(scratch, { recursive: true, force: true });
if (stale.length > 0) {
  console.error(stale.join('\n'));
  process.exit(1);
}
