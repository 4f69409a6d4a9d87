import type { Io } from '../io.js';

export interface Progress {
  /** What an earlier run has done: the share of the input at which this one begins. */
  beginAt(share: number | undefined): void;
  /** Tells how far it is, when it is time to tell again. */
  tell(done: number, share: number | undefined): Promise<void>;
  /** Leaves a clean line for what comes next. */
  end(): Promise<void>;
}

/** One line that is rewritten on a terminal; elsewhere a line now and then. */
export function progress(io: Io, now: () => number, plain: boolean): Progress {
  const { stderr, env } = io;
  const rewrites = stderr.isTerminal && env.TERM !== 'dumb' && !plain;
  const interval = rewrites ? 250 : 10_000;
  const started = now();
  let told = started;
  let open = false;
  let begin = 0;
  return {
    beginAt: (share) => {
      begin = share ?? 0;
    },
    tell: async (done, share) => {
      const at = now();
      if (at - told < interval) return;
      told = at;
      const text = progressText(done, (at - started) / 1000, share, begin);
      open = rewrites;
      await stderr.write(rewrites ? `\r\u001b[K${text}` : `${text}\n`);
    },
    end: async () => {
      if (open) await stderr.write('\r\u001b[K');
      open = false;
    },
  };
}

/** How many jobs are done, how fast, and how long it still takes. */
export function progressText(
  done: number,
  seconds: number,
  share: number | undefined,
  begin: number,
): string {
  const rate = `${done} jobs, ${rateText(done, seconds)}`;
  if (share === undefined || share <= begin) return rate;
  const left = (seconds * (1 - share)) / (share - begin);
  return `${rate}, ${Math.floor(100 * share)} %, ${durationText(left)} left`;
}

export function rateText(done: number, seconds: number): string {
  return `${(done / Math.max(seconds, 1e-3)).toFixed(1)} a second`;
}

export function durationText(seconds: number): string {
  const whole = Math.round(seconds);
  if (whole < 60) return `${whole} s`;
  const minutes = Math.floor(whole / 60);
  if (minutes < 60) return `${minutes} min ${whole % 60} s`;
  return `${Math.floor(minutes / 60)} h ${minutes % 60} min`;
}
