// Needs stack-ups and nothing else: no catalogue, no planner, no schema library.
import { stackUp } from '@offplate/core/stack';

const { worst } = stackUp({
  contributors: [
    { id: 'housing', nominal: 40, plus: 0.1, minus: 0.1 },
    { id: 'spacer', nominal: 39.5, plus: 0.05, minus: 0.05, coefficient: -1 },
  ],
});
if (Math.abs(worst.upper - 0.65) > 1e-12) throw new Error(`${worst.upper} is not 0.65`);
