/** A stretch of a heating curve: to a temperature at a rate, or a hold at the one reached. */
export type HeatLeg =
  | { readonly toC: number; readonly rateCPerMin: number }
  | { readonly hold: Hold['what']; readonly minutes: number };

/** A stretch at one temperature. */
export interface Hold {
  readonly what: 'equalise' | 'soak' | 'second soak';
  readonly temperatureC: number;
  readonly minutes: number;
}

export interface HeatCurve {
  /** Minutes from the start against temperature, C. */
  readonly points: readonly (readonly [minutes: number, celsius: number])[];
  readonly holds: readonly Hold[];
  readonly totalMinutes: number;
}

/**
 * Draws a heating curve leg by leg; a leg of no length is left out.
 *
 * @param startC temperature at the start, C
 * @example
 * heatCurve(20, [{ toC: 620, rateCPerMin: 6 }, { hold: 'soak', minutes: 60 }]).points // -> [[0,20],[100,620],[160,620]]
 */
export function heatCurve(startC: number, legs: readonly HeatLeg[]): HeatCurve {
  const points: (readonly [number, number])[] = [[0, startC]];
  const holds: Hold[] = [];
  let minutes = 0;
  let celsius = startC;
  for (const leg of legs) {
    if ('toC' in leg) {
      if (leg.toC === celsius) continue;
      minutes += Math.abs(leg.toC - celsius) / leg.rateCPerMin;
      celsius = leg.toC;
    } else {
      if (leg.minutes <= 0) continue;
      minutes += leg.minutes;
      holds.push({ what: leg.hold, temperatureC: celsius, minutes: leg.minutes });
    }
    points.push([minutes, celsius]);
  }
  return { points, holds, totalMinutes: minutes };
}

/**
 * Minutes from the first to the last moment above a temperature.
 *
 * @example
 * minutesAbove([[0, 20], [100, 620], [160, 620], [260, 20]], 320) // -> 160
 */
export function minutesAbove(
  points: readonly (readonly [minutes: number, celsius: number])[],
  celsius: number,
): number {
  const crossings: number[] = [];
  for (let i = 1; i < points.length; i++) {
    const [from, cold] = points[i - 1] ?? [0, 0];
    const [to, hot] = points[i] ?? [0, 0];
    if (cold < celsius !== hot < celsius)
      crossings.push(from + ((celsius - cold) / (hot - cold)) * (to - from));
  }
  const first = crossings[0];
  const last = crossings[crossings.length - 1];
  return first === undefined || last === undefined ? 0 : last - first;
}
