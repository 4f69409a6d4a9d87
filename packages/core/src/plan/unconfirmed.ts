import type { Confidence } from '../problems/finding.js';
import type { ThermalLoads } from '../route/part-works.js';
import type { ThermalCycle } from './types.js';

type Unconfirmed = NonNullable<ThermalCycle['toConfirm']>;

const words: Partial<Record<Confidence, string>> = {
  memory: 'recalled, not read',
  practice: 'common practice',
  invented: 'invented',
};

/** How a value that nobody has read in a source is called; undefined for one that somebody has. */
export function doubtWord(confidence: Confidence | undefined): string | undefined {
  return confidence === undefined ? undefined : words[confidence];
}

/** The values of a cycle that nobody has read in their specification, each as it is asked for. */
export function valuesToConfirm({ step: { schedule }, cycle }: ThermalLoads): Unconfirmed {
  const list: Unconfirmed[number][] = [];
  const add = (what: string, value: string | undefined, confidence?: Confidence): void => {
    if (value !== undefined && confidence !== undefined && doubtWord(confidence) !== undefined)
      list.push({ what, value, confidence });
  };
  const { toleranceC, step2TemperatureC, pressureMpaMin } = schedule;
  add('set point', `${schedule.temperatureC} °C`, schedule.temperatureConfidence);
  add(
    'tolerance',
    toleranceC === undefined ? undefined : `±${toleranceC} °C`,
    schedule.toleranceConfidence,
  );
  add('soak', `${cycle.soakMinutes} min`, schedule.soakConfidence);
  add(
    'second step',
    step2TemperatureC === undefined ? undefined : `${step2TemperatureC} °C`,
    schedule.temperatureConfidence,
  );
  add(
    'pressure',
    pressureMpaMin === undefined ? undefined : `≥ ${pressureMpaMin} MPa`,
    schedule.temperatureConfidence,
  );
  add('ramp', `${Math.round(cycle.rampCPerMin * 10) / 10} °C/min`, 'practice');
  return list;
}
