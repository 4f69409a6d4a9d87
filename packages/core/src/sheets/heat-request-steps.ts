import type { Operation, Plan, ThermalCycle } from '../plan/types.js';
import { duration, shortest } from './print-numbers.js';
import type { Block, Field } from './types.js';

/** One step: what to set, the curve, furnace and sensors, and what is checked after it. */
export function heatStepBlocks(
  plan: Plan,
  cycle: ThermalCycle,
  operation: Operation | undefined,
): readonly Block[] {
  const title = operation?.title ?? cycle.treatment;
  const where = operation === undefined ? '' : `, ${operation.workCentre.name}`;
  return [
    { type: 'heading', text: `Operation ${cycle.operation}: ${title}${where}` },
    { type: 'fields', across: 3, fields: settings(cycle).filter((field) => field.value !== '') },
    {
      type: 'table',
      title: `Part temperature, ±${shortest(cycle.toleranceC, 0)} °C at the holds`,
      columns: [
        { title: 'From the start', align: 'left' },
        { title: '°C', align: 'decimal' },
      ],
      rows: cycle.curve.map(([minutes, celsius]) => [duration(minutes), shortest(celsius, 0)]),
    },
    ...acceptance(plan, cycle),
  ];
}

function settings(cycle: ThermalCycle): readonly Field[] {
  const second = cycle.holds?.find((hold) => hold.what === 'second soak');
  const equalise = cycle.holds?.find((hold) => hold.what === 'equalise');
  return [
    {
      label: 'Set point',
      value: `${shortest(cycle.temperatureC, 0)} ±${shortest(cycle.toleranceC, 0)} °C`,
    },
    {
      label: 'Soak',
      value: `${duration(cycle.soakMinutes)}, from the coldest load sensor in the band`,
    },
    {
      label: 'Second soak',
      value:
        second === undefined
          ? ''
          : `${shortest(second.temperatureC, 0)} °C, ${duration(second.minutes)}`,
    },
    {
      label: 'Ramp',
      value: `≤ ${shortest(cycle.rampCPerMin, 1)} °C/min${cycle.rampLimit === undefined ? '' : ` (${cycle.rampLimit})`}`,
    },
    {
      label: 'Even out',
      value:
        equalise === undefined
          ? ''
          : `${shortest(equalise.temperatureC, 0)} °C, ${duration(equalise.minutes)}`,
    },
    {
      label: 'Pressure',
      value: cycle.pressureMPa === undefined ? '' : `≥ ${shortest(cycle.pressureMPa, 0)} MPa`,
    },
    { label: 'Atmosphere', value: cycle.atmosphere },
    { label: 'Cooling', value: cycle.cooling },
    {
      label: 'Keep inert to',
      value: cycle.inertBelowC === undefined ? '' : `${shortest(cycle.inertBelowC, 0)} °C`,
    },
    {
      label: 'Open below',
      value: cycle.releaseC === undefined ? '' : `${shortest(cycle.releaseC, 0)} °C`,
    },
    { label: 'Time in all', value: duration(cycle.totalMinutes) },
    { label: 'Parts', value: cycle.onPlate ? 'on the build plate' : 'loose' },
    { label: 'Furnace uniformity', value: cycle.uniformityClass },
    { label: 'Instruments', value: cycle.instrumentation ?? '' },
    { label: 'Load sensors', value: (cycle.sensors ?? []).join('; ') },
    { label: 'Condition after', value: cycle.conditionAfter },
    { label: 'Governing', value: cycle.governing },
    { label: 'Schedule', value: `${cycle.schedule} (${cycle.confidence})` },
  ];
}

function acceptance(plan: Plan, cycle: ThermalCycle): readonly Block[] {
  const checks = cycle.checks ?? [];
  if (checks.length === 0) return [];
  const change = cycle.sizeChange;
  return [
    {
      type: 'table',
      title: 'Checks after the step',
      columns: [
        { title: 'Check', align: 'left' },
        { title: 'On', align: 'left' },
        { title: 'Value', align: 'left' },
        { title: 'Result', align: 'left', entryWidthMm: 22 },
      ],
      rows: checks.map((check) => [
        check.check,
        check.witness ?? 'parts',
        check.confidence === 'memory' ? 'from memory: confirm' : '',
        '',
      ]),
    },
    ...(change === undefined || (change.meanPerMm === 0 && change.highPerMm === change.lowPerMm)
      ? []
      : [
          {
            type: 'paragraph' as const,
            text: `Expected change of length of ${plan.job.part}: ${perMille(change.meanPerMm)} (${perMille(change.lowPerMm)} to ${perMille(change.highPerMm)}) mm per metre.`,
          },
        ]),
  ];
}

function perMille(changePerMm: number): string {
  return shortest(changePerMm * 1000, 2);
}
