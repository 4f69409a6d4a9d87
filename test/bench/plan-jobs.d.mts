import type { JobInput } from '@offplate/core';

export function makePlanJob(recipe: {
  readonly features: number;
  readonly seed?: number;
}): JobInput;
