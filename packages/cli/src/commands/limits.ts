import type { GeneralTolerance } from '@offplate/core';
import { exitCodes } from '../exit-codes.js';
import { InvalidInput, UsageError } from '../failure.js';
import { type Command, operand } from './command.js';

export const command: Command = {
  about:
    'Reads a size as it stands on a drawing and shows its limits: ISO 286 fits, deviations, limits, general tolerances of ISO 2768, inches, metric threads. Put it in quotes.',
  operands: [
    { name: 'size', about: 'e.g. "25 H7", "12 ±0.05", "40 +0.1/-0", "0.8 in ±0.002", M8-6H' },
  ],
  options: {
    general: { value: 'class', about: 'general tolerance for a size without limits, e.g. mK' },
    json: { about: 'print JSON (schema limits/1), lengths in mm, deviations in um' },
  },
  examples: [
    ['offplate limits "25 H7"', 'a fit'],
    ['offplate limits 80 --general m', 'a size without limits'],
    ['offplate limits -- "-0.5 +0.1"', 'anything that begins with a minus'],
  ],
  async run(args, io) {
    const [{ parseSize }, { jsonText, resultStyle, tellFindings }, { limitsDocument, limitsText }] =
      await Promise.all([
        import('@offplate/core'),
        import('./deliver.js'),
        import('../write/text/limits-text.js'),
      ]);
    const general = await generalTolerance(args.values.get('general'));
    const text = operand(args, 0);
    const reading = parseSize(text, general === undefined ? {} : { general });
    if (!reading.ok) {
      const { column, message, accept } = reading;
      const place = { file: 'size', column };
      throw new InvalidInput([{ code: 'bad-size', place, message, value: text, accept }]);
    }
    const { value, findings } = reading;
    await tellFindings(findings, args, io);
    await io.stdout.write(
      args.flags.has('json')
        ? jsonText(limitsDocument(value))
        : limitsText(value, resultStyle(args, io)),
    );
    return exitCodes.ok;
  },
};

async function generalTolerance(text: string | undefined): Promise<GeneralTolerance | undefined> {
  if (text === undefined) return undefined;
  const { parseGeneralTolerance } = await import('@offplate/core');
  const reading = parseGeneralTolerance(text);
  if (reading.ok) return reading.value;
  throw new UsageError(
    `--general cannot be ${JSON.stringify(text)}: ${reading.message}; accepted: ${reading.accept}`,
  );
}
