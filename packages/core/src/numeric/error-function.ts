const polynomial = (coefficients: readonly number[], x: number): number => {
  let sum = 0;
  for (const coefficient of coefficients) sum = sum * x + coefficient;
  return sum;
};

// W. J. Cody, Rational Chebyshev approximations for the error function, Math. Comp. 23 (1969) 631,
// doi 10.1090/S0025-5718-1969-0247736-4. Highest power first.
const smallTop = [
  0.18577770618460315, 3.1611237438705655, 113.86415415105016, 377.485237685302, 3209.377589138469,
];
const smallBottom = [
  1, 23.601290952344122, 244.02463793444417, 1282.6165260773723, 2844.236833439171,
];
const middleTop = [
  2.1531153547440383e-8, 0.5641884969886701, 8.883149794388377, 66.11919063714163,
  298.6351381974001, 881.952221241769, 1712.0476126340707, 2051.0783778260716, 1230.3393547979972,
];
const middleBottom = [
  1, 15.744926110709835, 117.6939508913125, 537.1811018620099, 1621.3895745666903,
  3290.7992357334597, 4362.619090143247, 3439.3676741437216, 1230.3393548037495,
];
const farTop = [
  0.016315387137302097, 0.30532663496123236, 0.36034489994980445, 0.12578172611122926,
  0.016083785148742275, 0.0006587491615298378,
];
const farBottom = [
  1, 2.568520192289822, 1.8729528499234604, 0.5279051029514285, 0.06051834131244132,
  0.0023352049762686918,
];
const reciprocalSqrtPi = 0.5641895835477563;

/** exp(-x^2) with the square taken in two parts, so that large x keeps its relative accuracy. */
function gaussian(x: number): number {
  if (x > 30) return 0;
  const near = Math.trunc(x * 16) / 16;
  return Math.exp(-near * near) * Math.exp(-(x - near) * (x + near));
}

/** exp(x^2) * erfc(x) for x > 0.46875. */
function scaledTail(x: number): number {
  if (x <= 4) return polynomial(middleTop, x) / polynomial(middleBottom, x);
  const z = 1 / (x * x);
  const correction = (z * polynomial(farTop, z)) / polynomial(farBottom, z);
  return (reciprocalSqrtPi - correction) / x;
}

function erfNear(x: number): number {
  const z = x * x;
  return (x * polynomial(smallTop, z)) / polynomial(smallBottom, z);
}

/** Error function; relative error below 4e-16. */
export function erf(x: number): number {
  const size = Math.abs(x);
  if (size <= 0.46875) return erfNear(x);
  const value = 1 - gaussian(size) * scaledTail(size);
  return x < 0 ? -value : value;
}

/** 1 - erf(x) without cancellation; relative error below 1e-15 down to 1e-300. */
export function erfc(x: number): number {
  const size = Math.abs(x);
  if (size <= 0.46875) return 1 - erfNear(x);
  const value = gaussian(size) * scaledTail(size);
  return x < 0 ? 2 - value : value;
}

/** exp(x^2) * erfc(x): the tail without its underflow. Infinite below about -26.6. */
export function erfcx(x: number): number {
  if (x > 0.46875) return scaledTail(x);
  if (x >= -0.46875) return Math.exp(x * x) * (1 - erfNear(x));
  return 2 / gaussian(-x) - scaledTail(-x);
}
