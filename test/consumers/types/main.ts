// Compiled strictly, library types included, once as a Node program and once as for a bundler.
import {
  defaultCatalog,
  formatProblem,
  type Job,
  jobVocabulary,
  type Plan,
  type Problem,
  planJob,
  readJob,
} from '@offplate/core';
import { type CompiledExpression, compileExpression } from '@offplate/core/expression';
import { fitLimits, parseSize } from '@offplate/core/limits';
import { type MeshReading, readMesh } from '@offplate/core/mesh-file';
import schema from '@offplate/core/schema/plan.schema.json' with { type: 'json' };
import { type StackInput, stackUp } from '@offplate/core/stack';

export function days(json: string): number | string {
  const catalog = defaultCatalog();
  const reading = readJob({ json }, jobVocabulary(catalog));
  const problems: readonly Problem[] = reading.problems;
  const job: Job | undefined = reading.job;
  if (job === undefined) return problems.map(formatProblem).join('\n');
  const plan: Plan = planJob(job, catalog, { quantity: 5 });
  return plan.schedule.days;
}

const input: StackInput = { contributors: [{ id: 'a', nominal: 1, plus: 0.1, minus: 0.1 }] };
export const upper: number = stackUp(input).worst.upper;
export const bore: number = fitLimits(25, 'H7').upperMm;
export const id: string = schema.$id;
export const read: (bytes: Uint8Array) => MeshReading = (bytes) => readMesh(bytes);
export const compile: (text: string) => CompiledExpression = (text) => compileExpression(text);

const size = parseSize('25 H7');
// @ts-expect-error a reading has a value only when it is one
export const unchecked = size.value;
// @ts-expect-error results are read-only
stackUp(input).worst.upper = 0;
