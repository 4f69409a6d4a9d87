import * as v from 'valibot';

// Kinds of fields of the job schema. The message of a rule is the text of "what is accepted" in a
// problem.

/** Form of a date; whether the day exists is checked after the schema. */
export const datePattern: RegExp = /^[0-9]{4}-[0-9]{2}-[0-9]{2}$/;

/** Text with something other than spaces in it. */
export const text = (title: string, description: string, longest = 200): v.GenericSchema<string> =>
  v.pipe(
    v.string(`text of 1 to ${longest} characters`),
    v.regex(/\S/, `text of 1 to ${longest} characters`),
    v.maxLength(longest, `text of 1 to ${longest} characters`),
    v.title(title),
    v.description(description),
  );

export const words = <const Word extends string>(
  title: string,
  description: string,
  options: readonly Word[],
): v.GenericSchema<Word> =>
  v.pipe(v.picklist(options, options.join(' | ')), v.title(title), v.description(description));

export const yesNo = (title: string, description: string): v.GenericSchema<boolean> =>
  v.pipe(v.boolean('true or false'), v.title(title), v.description(description));

/** A whole number from 1. */
export const whole = (title: string, description: string, most: number): v.GenericSchema<number> =>
  v.pipe(
    v.number(`a whole number from 1 to ${most}`),
    v.integer(`a whole number from 1 to ${most}`),
    v.minValue(1, `a whole number from 1 to ${most}`),
    v.maxValue(most, `a whole number from 1 to ${most}`),
    v.title(title),
    v.description(description),
  );

export const number = (
  title: string,
  description: string,
  least: number,
  most: number,
): v.GenericSchema<number> =>
  v.pipe(
    v.number(`a number from ${least} to ${most}`),
    v.minValue(least, `a number from ${least} to ${most}`),
    v.maxValue(most, `a number from ${least} to ${most}`),
    v.title(title),
    v.description(description),
  );

/** A number in job units, or a text with its own unit. */
export const measure = (
  title: string,
  description: string,
  accept: string,
  least: number,
  most: number,
): v.GenericSchema<number | string> =>
  v.pipe(
    v.union(
      [
        v.pipe(v.number(accept), v.minValue(least, accept), v.maxValue(most, accept)),
        v.pipe(v.string(accept), v.minLength(1, accept), v.maxLength(60, accept)),
      ],
      accept,
    ),
    v.title(title),
    v.description(description),
  );

/** Stands for "above 0" in numbers of every unit. */
export const smallest = 1e-6;
const lengthWords = 'a length above 0 as a number in job units or a text with unit: 12.5, "0.8 in"';
export const length = (title: string, description: string): v.GenericSchema<number | string> =>
  measure(title, description, lengthWords, smallest, 1e5);
export const area = (
  title: string,
  description: string,
  least: number = smallest,
): v.GenericSchema<number | string> =>
  measure(
    title,
    description,
    `an area ${least === 0 ? 'from' : 'above'} 0 as a number in job units squared or a text with unit: 240, "3 cm2"`,
    least,
    1e10,
  );

export const roughness = (title: string, description: string): v.GenericSchema<number | string> =>
  measure(
    title,
    description,
    'a roughness above 0 as a number in um or a text with unit: 1.6, "63 uin"',
    smallest,
    1e4,
  );

export const date = (title: string, description: string): v.GenericSchema<string> =>
  v.pipe(
    v.string('a date YYYY-MM-DD'),
    v.regex(datePattern, 'a date YYYY-MM-DD'),
    v.title(title),
    v.description(description),
  );

export const list = <Item>(
  item: v.GenericSchema<Item>,
  title: string,
  description: string,
  most = 100,
): v.GenericSchema<readonly Item[]> =>
  v.pipe(
    v.array(item, 'a list'),
    v.maxLength(most, `at most ${most} items`),
    v.title(title),
    v.description(description),
  );

/** Name of a feature or a chain. */
export const id = (description: string): v.GenericSchema<string> => {
  const accept = 'up to 40 letters, digits, dots, hyphens or underscores, a letter or digit first';
  return v.pipe(
    v.string(accept),
    v.regex(/^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$/, accept),
    v.title('Id'),
    v.description(description),
  );
};
