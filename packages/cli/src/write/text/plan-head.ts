import { formatShort, type Plan } from '@offplate/core';
import { counted, daysText, moneyText } from './numbers.js';
import type { Style } from './style.js';
import { indented } from './table.js';
import { printable, wrapText } from './width.js';

/** What is planned: part, order, and in one line each what it costs, when it is ready, how sure that is. */
export function planHead(plan: Plan, style: Style): readonly string[] {
  const { job } = plan;
  const facts = [
    counted(job.quantity, 'part'),
    `${job.material.name} (${job.material.designation})`,
    job.printer,
    job.endUse,
    job.condition,
  ];
  const more = [
    job.boxMm === undefined
      ? undefined
      : `box ${job.boxMm.map((edge) => formatShort(edge, 2)).join(' × ')} mm`,
    job.massKg === undefined ? undefined : `${formatShort(job.massKg, 3)} kg`,
    job.customer,
    job.reference,
    ...job.standards,
  ].filter((text) => text !== undefined);
  return [
    partLine(plan, style),
    ...wrapText(facts.join(' · '), style.width),
    ...(more.length === 0 ? [] : wrapText(more.join(' · '), style.width)),
    ...(job.regulated
      ? [style.warning('regulated part: work only to its approved procedure; this plan is none')]
      : []),
    ...job.hazards.map((hazard) => style.warning(printable(`hazard: ${hazard}`))),
    '',
    ...resultLines(plan, style),
  ];
}

export function partLine({ job }: Plan, style: Style): string {
  return style.bold(printable(`${job.part} · ${job.number}-${job.revision}`));
}

function resultLines(plan: Plan, style: Style): readonly string[] {
  const { cost, schedule, operations, conflicts } = plan;
  const verdict = plan.feasible
    ? []
    : [style.warning(`not feasible: ${counted(conflicts.length, 'conflict')}, listed below`)];
  if (operations.length === 0) return verdict;
  const moneyLine = `${moneyText(cost.perPart, cost)} a part · ${moneyText(cost.perLot, cost)} the lot · prices of ${cost.priceYear}`;
  return [
    ...verdict,
    ...wrapText(moneyLine, style.width),
    ...scheduleLines(schedule, style),
    ...wrapText(proofLine(plan), style.width),
  ];
}

/** `45 working days · 2027-01-11 to 2027-03-15 · due 2027-03-12, late by 1 working day`. */
export function scheduleLines(schedule: Plan['schedule'], style: Style): readonly string[] {
  const { days, startOn, readyOn, dueOn, late, lateDays } = schedule;
  const span = readyOn === undefined ? undefined : `${startOn ?? ''} to ${readyOn}`;
  const due =
    dueOn === undefined
      ? undefined
      : `due ${dueOn}${late ? `, late by ${daysText(lateDays)}` : ''}`;
  const text = [daysText(days), span, due].filter((part) => part !== undefined).join(' · ');
  const lines = wrapText(text, style.width);
  return late ? lines.map((line) => style.warning(line)) : lines;
}

function proofLine(plan: Plan): string {
  const { proof, operations, conflicts, cost } = plan;
  const scope = conflicts.length === 0 ? '' : ' for what can be made';
  const route = `route of ${counted(operations.length, 'operation')}${scope}`;
  // Only the cost objective counts in money.
  const inMoney = proof.objective + proof.constants === cost.perLot;
  const figure = (value: number): string =>
    inMoney ? moneyText(value, cost) : formatShort(value, 0);
  const nodes = counted(proof.nodes, 'node');
  if (proof.optimal)
    return `${route}, proven best: optimum ${figure(proof.objective)}, lower bound the same, ${nodes}`;
  return `${route}, within ${formatShort(proof.gap * 100, 2)} % of the best: found ${figure(proof.objective)}, lower bound ${figure(proof.lowerBound)}, ${nodes}`;
}

/** Why there is no plan for the job as it stands: what is asked, the best there is, what helps. */
export function conflictLines(conflicts: Plan['conflicts'], style: Style): readonly string[] {
  return conflicts.flatMap(({ feature, requirement, best, help }) => [
    ...wrapText(`${feature === undefined ? '' : `${feature}: `}${requirement}`, style.width),
    ...indented(`best reachable: ${best}`, 4, style.width),
    ...help.flatMap((text) => indented(`would help: ${text}`, 4, style.width)),
  ]);
}
