// Plans the demo job; prints the plan as one line.
import { readFileSync } from 'node:fs';
import { defaultCatalog, jobVocabulary, planJob, readJob } from '@offplate/core';
import { compileExpression } from '@offplate/core/expression';
import { readMesh } from '@offplate/core/mesh-file';
import jobSchema from '@offplate/core/schema/job.schema.json' with { type: 'json' };

const source = JSON.parse(readFileSync(process.argv[2], 'utf8'));
const catalog = defaultCatalog();
const { job, problems } = readJob(source, jobVocabulary(catalog));
if (job === undefined) throw new Error(JSON.stringify(problems));
if (!jobSchema.$id.startsWith('urn:offplate:schema:job:')) throw new Error('not the job schema');
if (typeof compileExpression !== 'function' || typeof readMesh !== 'function')
  throw new Error('an entry is empty');
process.stdout.write(JSON.stringify(planJob(job, catalog)));
