import type { Command } from './command.js';

interface Entry {
  /** One line of the command list. */
  readonly summary: string;
  load(): Promise<{ readonly command: Command }>;
}

/** Every verb, in the order of the help. A new one is its file and one line here. */
export const commands: Readonly<Record<string, Entry>> = {
  new: { summary: 'write a starter job to fill in', load: () => import('./new.js') },
  mesh: { summary: 'measure an STL or 3MF file', load: () => import('./mesh.js') },
  screen: { summary: 'can the part be printed as drawn?', load: () => import('./screen.js') },
  plan: { summary: 'plan a job: route, stock, cost, days', load: () => import('./plan.js') },
  traveller: { summary: 'write the traveller as PDF', load: () => import('./traveller.js') },
  stock: { summary: 'printed sizes and stock per face', load: () => import('./stock.js') },
  inspection: {
    summary: 'what is measured, within which limits',
    load: () => import('./inspection.js'),
  },
  heat: { summary: 'the request to the heat treater', load: () => import('./heat.js') },
  quote: { summary: 'cost, quantity breaks and days', load: () => import('./quote.js') },
  relax: {
    summary: 'what looser requirements would save',
    load: () => import('./relax.js'),
  },
  start: { summary: 'how many parts to start', load: () => import('./start.js') },
  ask: { summary: 'what the job leaves open and what it matters', load: () => import('./ask.js') },
  compare: {
    summary: 'two plans side by side, and why they differ',
    load: () => import('./compare.js'),
  },
  'break-even': {
    summary: 'lot sizes at which the best route changes',
    load: () => import('./break-even.js'),
  },
  frontier: { summary: 'what it costs to be sooner', load: () => import('./frontier.js') },
  pack: { summary: 'all documents of a job in a folder', load: () => import('./pack.js') },
  batch: { summary: 'plan many jobs on all cores', load: () => import('./batch.js') },
  stack: { summary: 'stack up a dimension chain', load: () => import('./stack.js') },
  chart: { summary: 'working dimensions of a sequence of cuts', load: () => import('./chart.js') },
  limits: { summary: 'limits of a size as on a drawing', load: () => import('./limits.js') },
  catalog: { summary: 'tables behind the plan, with sources', load: () => import('./catalog.js') },
  model: { summary: 'the choice problem of the route as JSON', load: () => import('./model.js') },
  completions: {
    summary: 'completion script for a shell',
    load: async () => ({ command: (await import('./completions.js')).completionsOf(commands) }),
  },
};
