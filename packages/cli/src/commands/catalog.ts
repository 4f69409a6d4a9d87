import { type Command, sharedOptions } from './command.js';

export const command: Command = {
  about:
    'Shows the tables that the plan is made from: alloys, treatments, processes, work centres and rates, each value with its source and confidence. A shop folder changes or adds rows by their key.',
  operands: [
    { name: 'table', optional: true, about: 'name of a table; without it the tables are listed' },
    { name: 'row', optional: true, about: 'key of a row, to see each value with its source' },
  ],
  options: {
    json: { about: 'print JSON (schema catalog/1)' },
    csv: { about: 'print CSV with the columns that a shop folder takes' },
    check: { about: 'check the whole catalogue and name every bad row' },
    shop: sharedOptions.shop,
    out: sharedOptions.out,
    force: sharedOptions.force,
  },
  examples: [
    ['offplate catalog', 'the tables'],
    ['offplate catalog materials s17400', 'one alloy with its sources'],
    ['offplate catalog work-centres --csv --out our-shop/work-centres.csv', 'rates to edit'],
    ['offplate catalog --check --shop our-shop', 'check your tables'],
  ],
  async run(args, io) {
    const { showCatalog } = await import('./show-catalog.js');
    return await showCatalog(args, io);
  },
};
