import type { Catalog } from '../catalog/catalog.js';
import { perPart } from '../cost/money.js';
import type { Job } from '../job/types.js';
import { openQuestions } from './open-questions.js';
import type { PlanOptions } from './plan-job.js';
import { tidy } from './tidy.js';
import { moneyWords, type Saving, type VariantBase, variantBase } from './variant.js';

/** What to ask before quoting, schema `missing-answers/1`. Money in minor units, days in working days. */
export interface MissingAnswers {
  readonly schema: 'missing-answers/1';
  readonly currency: string;
  readonly minorDigits: number;
  readonly quantity: number;
  readonly base: { readonly perPart: number; readonly perLot: number; readonly days: number };
  /** Most telling first: by the money between the answers, then by the days. */
  readonly questions: readonly MissingAnswer[];
  /** Open points whose answers change neither money nor days. */
  readonly noMatter: readonly { readonly id: string; readonly question: string }[];
}

export interface MissingAnswer {
  readonly id: string;
  readonly feature?: string;
  readonly assumed: string;
  readonly answers: readonly AnswerEffect[];
  /** Between the dearest and the cheapest answer, the assumed one among them. */
  readonly spreadPerLot: number;
  readonly spreadDays: number;
  /** Some answer leaves the part unmakeable as drawn. */
  readonly couldStop: boolean;
  /** In words that can go into a mail. */
  readonly question: string;
}

export interface AnswerEffect extends Partial<Saving> {
  readonly answer: string;
  /** Without a saving when the part cannot be made with this answer. */
  readonly feasible: boolean;
}

/**
 * What the job does not say and the plan had to assume, each plausible answer planned anew, exactly,
 * and ranked by how much the answer moves money and days. Throws RangeError when the job itself cannot
 * be planned.
 */
export function missingAnswers(
  job: Job,
  catalog: Catalog,
  options: PlanOptions = {},
): MissingAnswers {
  const variants = variantBase(job, catalog, options);
  const { base, currency, minorDigits } = variants;
  const { quantity } = base.context;
  const asked = openQuestions(base).map((open) => {
    const answers = open.answers.map(({ answer, job: changed, featuresOnly }): AnswerEffect => {
      const solved = featuresOnly
        ? variants.withFeatures(changed.features)
        : variants.solve(changed);
      return solved === undefined
        ? { answer, feasible: false }
        : { answer, feasible: true, ...variants.savingOf(solved) };
    });
    const money = [0, ...answers.flatMap(({ savesPerLot }) => savesPerLot ?? [])];
    const days = [0, ...answers.flatMap(({ savesDays }) => savesDays ?? [])];
    const entry: MissingAnswer = {
      id: open.id,
      ...(open.feature === undefined ? {} : { feature: open.feature }),
      assumed: open.assumed,
      answers,
      spreadPerLot: Math.max(...money) - Math.min(...money),
      spreadDays: Math.max(...days) - Math.min(...days),
      couldStop: answers.some(({ feasible }) => !feasible),
      question: `${open.question} We assumed: ${open.assumed}. ${answers.map((answer) => effectWords(answer, variants)).join(' ')}`,
    };
    return { open, entry };
  });
  const matters = (entry: MissingAnswer): boolean =>
    entry.couldStop || entry.spreadPerLot > 0 || entry.spreadDays > 0.005;
  return tidy({
    schema: 'missing-answers/1' as const,
    currency,
    minorDigits,
    quantity,
    base: { perPart: perPart(base.totals.lot, quantity), perLot: base.totals.lot, days: base.days },
    questions: asked
      .map(({ entry }) => entry)
      .filter(matters)
      .sort(byWorth),
    noMatter: asked
      .filter(({ entry }) => !matters(entry))
      .map(({ open: { id, question } }) => ({ id, question })),
  });
}

function byWorth(a: MissingAnswer, b: MissingAnswer): number {
  return (
    Number(b.couldStop) - Number(a.couldStop) ||
    b.spreadPerLot - a.spreadPerLot ||
    b.spreadDays - a.spreadDays ||
    (a.id < b.id ? -1 : 1)
  );
}

function effectWords(
  { answer, feasible, savesPerPart = 0, savesDays = 0 }: AnswerEffect,
  { currency, minorDigits }: VariantBase,
): string {
  const name = `"${answer}"`;
  if (!feasible) return `With ${name} the part cannot be made as drawn.`;
  const money =
    savesPerPart === 0
      ? undefined
      : savesPerPart > 0
        ? `take ${moneyWords(savesPerPart, currency, minorDigits)} off each part`
        : `add ${moneyWords(savesPerPart, currency, minorDigits)} to each part`;
  const days =
    Math.abs(savesDays) < 0.05
      ? undefined
      : `${savesDays > 0 ? 'save' : 'take'} ${Math.abs(savesDays).toFixed(1)} working days${savesDays > 0 ? '' : ' more'}`;
  const effects = [money, days].filter((text) => text !== undefined);
  return effects.length === 0
    ? `${name} would change nothing.`
    : `${name} would ${effects.join(' and ')}.`;
}
