import type { RouteModel } from '@offplate/core';

export interface RouteModelRecipe {
  readonly kind: 'shop' | 'hard' | 'drawing';
  readonly features: number;
  readonly chains: number;
  readonly setups: number;
  readonly plans?: number;
  readonly seed: number;
  readonly conflict?: number;
  readonly forbidden?: number;
  readonly relations?: number;
  readonly paying?: number;
  readonly floats?: boolean;
}

export function randomStream(seed: number): () => number;
export function makeRouteModel(recipe: RouteModelRecipe): RouteModel;
export function twinModel(model: RouteModel): RouteModel;
export function shuffleModel(model: RouteModel, seed: number): RouteModel;
export function modelAsLp(model: RouteModel, options?: { readonly relaxed?: boolean }): string;
