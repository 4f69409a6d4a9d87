import type { Operation, Plan, ThermalCycle } from '../plan/types.js';
import type { Confidence } from '../problems/finding.js';
import { duration, shortest } from './print-numbers.js';
import type { Field, FieldsBlock } from './types.js';

/** What is set at the machine or furnace; the thermal cycle fills what the operation leaves out. */
export function parameterFields(plan: Plan, operation: Operation): readonly FieldsBlock[] {
  const given = operation.parameters.map((parameter) => ({
    label: parameter.name,
    value: `${parameter.value}${confidenceMark(parameter.confidence)}`,
  }));
  const names = new Set(given.map((field) => field.label.toLowerCase()));
  const cycle = plan.thermal.cycles.find((each) => each.operation === operation.seq);
  const ofCycle = cycle === undefined ? [] : cycleFields(cycle);
  const fields = [
    ...given,
    ...ofCycle.filter((field) => field.value !== '' && !names.has(field.label.toLowerCase())),
  ];
  return fields.length === 0 ? [] : [{ type: 'fields', title: 'Parameters', across: 3, fields }];
}

function cycleFields(cycle: ThermalCycle): readonly Field[] {
  return [
    {
      label: 'Set point',
      value: `${shortest(cycle.temperatureC, 0)} ±${shortest(cycle.toleranceC, 0)} °C${confidenceMark(cycle.confidence)}`,
    },
    { label: 'Soak', value: duration(cycle.soakMinutes) },
    { label: 'Ramp', value: `≤ ${shortest(cycle.rampCPerMin, 1)} °C/min` },
    {
      label: 'Pressure',
      value: cycle.pressureMPa === undefined ? '' : `${shortest(cycle.pressureMPa, 0)} MPa`,
    },
    { label: 'Atmosphere', value: cycle.atmosphere },
    { label: 'Cooling', value: cycle.cooling },
    { label: 'Parts', value: cycle.onPlate ? 'on the build plate' : 'loose' },
    { label: 'Condition after', value: cycle.conditionAfter },
    { label: 'Governing', value: cycle.governing },
    { label: 'Furnace uniformity', value: cycle.uniformityClass },
  ];
}

/** Values that nobody has read in a source are told apart where they are used. */
function confidenceMark(confidence: Confidence | undefined): string {
  if (confidence === 'memory') return ' [from memory: confirm]';
  if (confidence === 'practice') return ' [common practice: confirm]';
  if (confidence === 'invented') return ' [invented: replace]';
  return '';
}
