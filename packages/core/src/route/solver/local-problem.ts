import { clusterSetups } from './clusters.js';
import type { IndexedModel } from './indexed-model.js';
import { type SearchNode, UNCHARGED } from './node.js';
import { foldedCost, type Propagation } from './propagate.js';
import type { Relation } from './relations.js';

/**
 * What a node leaves undecided, in compact arrays, and the multipliers of its bound. One instance
 * is filled anew for every node. Numbers are local unless the name ends in `Of`.
 */
export interface LocalProblem {
  /** Cost of all that is decided. */
  constant: number;
  features: number;
  readonly featureOf: Int32Array;
  chains: number;
  readonly chainOf: Int32Array;
  readonly cost: Float64Array;
  /** Set-ups of the chain's home cluster that it needs, as bits. */
  readonly mask: Int32Array;
  /** Multipliers that are added to the cost of chain c: use[useStart[c]] up to useStart[c + 1]. */
  readonly useStart: Int32Array;
  readonly use: Int32Array;
  /** Chains come in groups of one feature and one home cluster (-1: no undecided set-up). */
  groups: number;
  readonly groupStart: Int32Array;
  readonly groupFeature: Int32Array;
  readonly groupCluster: Int32Array;
  /** Multipliers: charged links first, then messages. */
  links: number;
  multipliers: number;
  readonly multiplierOf: Int32Array;
  readonly linkCluster: Int32Array;
  readonly linkMask: Int32Array;
  readonly share: Float64Array;
  readonly bestShare: Float64Array;
  readonly shareSlope: Float64Array;
  readonly shareStep: Float64Array;
  readonly budget: Float64Array;
  readonly bestBudget: Float64Array;
  readonly budgetSlope: Float64Array;
  readonly budgetStep: Float64Array;
  /** Members of each cluster: bit b of a mask is the set-up members[b] of the model. */
  clusters: readonly (readonly number[])[];
  readonly clusterOf: Int32Array;
  readonly bitOf: Int32Array;
  readonly setupCost: Float64Array;
  /** Cost of every subset of every cluster, from tableStart[cluster]. */
  readonly tableStart: Int32Array;
  table: Float64Array;
  extra: Float64Array;
  superset: Float64Array;
  /** Scratch for the gain of one group by subset. */
  gain: Float64Array;
  readonly hasExtra: Uint8Array;
  /** Cheapest subset of each cluster and its cost. */
  readonly subset: Int32Array;
  readonly least: Float64Array;
  /** Relations between two undecided features. */
  readonly relations: LocalRelation[];
  readonly allRelations: readonly LocalRelation[];
  /** Cost of each chain with its multipliers, less the budget of its feature. */
  readonly reduced: Float64Array;
  /** Chains with a negative reduced cost, by group. */
  readonly negative: Int32Array;
  readonly negativeStart: Int32Array;
  /** How often each set-up was open in the last bounds, 0 to 1. */
  readonly openRate: Float64Array;
  readonly localLink: Int32Array;
  readonly homeOf: Int32Array;
  readonly list: Int32Array;
}

/** A relation of the model with what is left of it at the node. */
export interface LocalRelation {
  readonly relation: Relation;
  /** First multiplier of its rows and of its columns; -1 if one of its features is decided. */
  row: number;
  column: number;
  /** The first rowCount rows and columnCount columns listed are those that alive chains use. */
  rowCount: number;
  readonly rows: Int32Array;
  columnCount: number;
  readonly columns: Int32Array;
}

export function createLocalProblem(model: IndexedModel): LocalProblem {
  const features = model.featureIds.length;
  const chains = model.chainIds.length;
  const setups = model.setupIds.length;
  const links = model.linkSetup.length;
  let messages = 0;
  let uses = model.useLink.length;
  for (const relation of model.relations) {
    messages += relation.rows + relation.columns;
    uses += relation.rowOf.length + relation.columnOf.length;
  }
  const ints = (length: number): Int32Array => new Int32Array(length);
  const floats = (length: number): Float64Array => new Float64Array(length);
  return {
    constant: 0,
    features: 0,
    featureOf: ints(features),
    chains: 0,
    chainOf: ints(chains),
    cost: floats(chains),
    mask: ints(chains),
    useStart: ints(chains + 1),
    use: ints(uses),
    groups: 0,
    groupStart: ints(chains + 1),
    groupFeature: ints(chains),
    groupCluster: ints(chains),
    links: 0,
    multipliers: 0,
    multiplierOf: ints(links + messages),
    linkCluster: ints(links),
    linkMask: ints(links),
    share: floats(links + messages),
    bestShare: floats(links + messages),
    shareSlope: floats(links + messages),
    shareStep: floats(links + messages),
    budget: floats(features),
    bestBudget: floats(features),
    budgetSlope: floats(features),
    budgetStep: floats(features),
    clusters: [],
    clusterOf: ints(setups),
    bitOf: ints(setups),
    setupCost: model.setupCost,
    tableStart: ints(setups + 1),
    table: floats(0),
    extra: floats(0),
    superset: floats(0),
    gain: floats(0),
    hasExtra: new Uint8Array(setups),
    subset: ints(setups),
    least: floats(setups),
    relations: [],
    allRelations: model.relations.map((relation) => ({
      relation,
      row: -1,
      column: -1,
      rowCount: 0,
      rows: ints(relation.rows),
      columnCount: 0,
      columns: ints(relation.columns),
    })),
    reduced: floats(chains),
    negative: ints(chains),
    negativeStart: ints(chains + 1),
    openRate: floats(setups),
    localLink: ints(links + messages),
    homeOf: ints(chains),
    list: ints(chains),
  };
}

/** Fills the local problem from a node that has been propagated. */
export function buildLocalProblem(
  model: IndexedModel,
  node: SearchNode,
  work: Propagation,
  local: LocalProblem,
  clusterSize: number,
): void {
  local.constant = decidedCost(model, node, work);
  placeClusters(node, local, clusterSetups(model, node, work, clusterSize));
  chooseHomes(model, node, work, local);

  local.localLink.fill(-1);
  local.features = 0;
  local.chains = 0;
  local.groups = 0;
  local.links = 0;
  for (let f = 0; f < work.left.length; f += 1) {
    if ((work.decided[f] as number) < 0) addFeature(model, node, work, local, f);
  }
  local.groupStart[local.groups] = local.chains;
  local.multipliers = local.links;
  placeRelations(model, node, work, local);
  addUses(model, node, local);
}

function decidedCost(model: IndexedModel, node: SearchNode, work: Propagation): number {
  let cost = model.planCost[node.plan] as number;
  for (let s = 0; s < node.status.length; s += 1) {
    if (node.status[s] === 1) cost += model.setupCost[s] as number;
  }
  for (const chain of work.decided) if (chain >= 0) cost += model.chainCost[chain] as number;
  for (const relation of model.relations) {
    const one = work.decided[relation.one] as number;
    const other = work.decided[relation.other] as number;
    if (one < 0 || other < 0) continue;
    const row = relation.rowOf[one - relation.oneStart] as number;
    const column = relation.columnOf[other - relation.otherStart] as number;
    cost += relation.costs[row * relation.columns + column] as number;
  }
  return cost;
}

function placeClusters(node: SearchNode, local: LocalProblem, clusters: number[][]): void {
  local.clusters = clusters;
  let length = 0;
  clusters.forEach((members, number) => {
    local.tableStart[number] = length;
    length += 1 << members.length;
    members.forEach((s, bit) => {
      local.clusterOf[s] = number;
      local.bitOf[s] = 1 << bit;
      node.cluster[s] = Math.min(...members);
    });
  });
  local.tableStart[clusters.length] = length;
  if (local.table.length < length) {
    local.table = new Float64Array(length);
    local.extra = new Float64Array(length);
    local.superset = new Float64Array(length);
    local.gain = new Float64Array(length);
  }
}

/**
 * Home of a chain: the cluster with most of its undecided set-ups. The links to its other set-ups
 * are charged from here on, in this node and in all below it.
 */
function chooseHomes(
  model: IndexedModel,
  node: SearchNode,
  work: Propagation,
  local: LocalProblem,
): void {
  const { status, share } = node;
  const { clusterOf, homeOf } = local;
  for (let c = 0; c < node.alive.length; c += 1) {
    if (node.alive[c] !== 1 || (work.decided[model.chainFeature[c] as number] as number) >= 0)
      continue;
    const setups = model.chainSetups[c] as Int32Array;
    let home = -1;
    let most = 0;
    for (let i = 0; i < setups.length; i += 1) {
      if (status[setups[i] as number] !== 0) continue;
      const cluster = clusterOf[setups[i] as number] as number;
      if (cluster === home) continue;
      let count = 0;
      for (let j = i; j < setups.length; j += 1) {
        const s = setups[j] as number;
        if (status[s] === 0 && clusterOf[s] === cluster) count += 1;
      }
      if (count > most || (count === most && cluster < home)) {
        most = count;
        home = cluster;
      }
    }
    homeOf[c] = home;
    for (let i = model.useStart[c] as number; i < (model.useStart[c + 1] as number); i += 1) {
      const link = model.useLink[i] as number;
      const s = model.linkSetup[link] as number;
      if (status[s] !== 0 || clusterOf[s] === home) continue;
      if (share[link] === UNCHARGED) share[link] = 0;
    }
  }
}

/** Lists the alive chains of a feature by home, then by number; returns how many. */
function listChains(
  model: IndexedModel,
  node: SearchNode,
  local: LocalProblem,
  feature: number,
): number {
  const { homeOf, list } = local;
  let count = 0;
  const end = model.featureStart[feature + 1] as number;
  for (let c = model.featureStart[feature] as number; c < end; c += 1) {
    if (node.alive[c] !== 1) continue;
    const home = homeOf[c] as number;
    let place = count;
    while (place > 0 && (homeOf[list[place - 1] as number] as number) > home) {
      list[place] = list[place - 1] as number;
      place -= 1;
    }
    list[place] = c;
    count += 1;
  }
  return count;
}

function addFeature(
  model: IndexedModel,
  node: SearchNode,
  work: Propagation,
  local: LocalProblem,
  feature: number,
): void {
  const count = listChains(model, node, local, feature);
  const { clusterOf, bitOf, homeOf, localLink } = local;
  const f = local.features;
  local.featureOf[f] = feature;
  local.budget[f] = node.budget[feature] as number;
  local.features += 1;
  let previous = -2;
  for (let i = 0; i < count; i += 1) {
    const chain = local.list[i] as number;
    const home = homeOf[chain] as number;
    if (home !== previous) {
      local.groupStart[local.groups] = local.chains;
      local.groupFeature[local.groups] = f;
      local.groupCluster[local.groups] = home;
      local.groups += 1;
      previous = home;
    }
    let mask = 0;
    const end = model.useStart[chain + 1] as number;
    for (let use = model.useStart[chain] as number; use < end; use += 1) {
      const link = model.useLink[use] as number;
      const s = model.linkSetup[link] as number;
      if (node.status[s] !== 0) continue;
      if (clusterOf[s] === home) mask |= bitOf[s] as number;
      if ((node.share[link] as number) < 0 || (localLink[link] as number) >= 0) continue;
      const number = local.links;
      localLink[link] = number;
      local.multiplierOf[number] = link;
      local.linkCluster[number] = clusterOf[s] as number;
      local.linkMask[number] = bitOf[s] as number;
      local.share[number] = node.share[link] as number;
      local.links += 1;
    }
    local.chainOf[local.chains] = chain;
    local.cost[local.chains] = foldedCost(model, work, feature, chain);
    local.mask[local.chains] = mask;
    local.chains += 1;
  }
}

function placeRelations(
  model: IndexedModel,
  node: SearchNode,
  work: Propagation,
  local: LocalProblem,
): void {
  const base = model.linkSetup.length;
  local.relations.length = 0;
  for (const placed of local.allRelations) {
    const { relation } = placed;
    placed.row = -1;
    if ((work.decided[relation.one] as number) >= 0) continue;
    if ((work.decided[relation.other] as number) >= 0) continue;
    placed.row = local.multipliers;
    placed.column = local.multipliers + relation.rows;
    for (let i = 0; i < relation.rows + relation.columns; i += 1) {
      const message = base + relation.rowMessage + i;
      local.multiplierOf[local.multipliers] = message;
      local.share[local.multipliers] = node.share[message] as number;
      local.multipliers += 1;
    }
    placed.rowCount = listLines(node, relation.rowOf, relation.oneStart, placed.rows);
    placed.columnCount = listLines(node, relation.columnOf, relation.otherStart, placed.columns);
    local.relations.push(placed);
  }
}

/** Lists the lines of a relation that alive chains use, in order; returns how many. */
function listLines(node: SearchNode, lineOf: Int32Array, start: number, lines: Int32Array): number {
  lines.fill(0);
  for (let i = 0; i < lineOf.length; i += 1) {
    if (node.alive[start + i] === 1) lines[lineOf[i] as number] = 1;
  }
  let count = 0;
  for (let line = 0; line < lines.length; line += 1) {
    if (lines[line] !== 1) continue;
    lines[count] = line;
    count += 1;
  }
  return count;
}

/** Lists the multipliers of every local chain: its charged links, then its messages. */
function addUses(model: IndexedModel, node: SearchNode, local: LocalProblem): void {
  const { localLink, use, useStart } = local;
  let count = 0;
  for (let c = 0; c < local.chains; c += 1) {
    useStart[c] = count;
    const chain = local.chainOf[c] as number;
    const end = model.useStart[chain + 1] as number;
    for (let i = model.useStart[chain] as number; i < end; i += 1) {
      const link = model.useLink[i] as number;
      if (node.status[model.linkSetup[link] as number] !== 0) continue;
      const number = localLink[link] as number;
      if (number < 0) continue;
      use[count] = number;
      count += 1;
    }
    const feature = model.chainFeature[chain] as number;
    const related = model.featureRelations[feature] as readonly number[];
    for (let i = 0; i < related.length; i += 1) {
      const { relation, row, column } = local.allRelations[related[i] as number] as LocalRelation;
      if (row < 0) continue;
      use[count] =
        relation.one === feature
          ? row + (relation.rowOf[chain - relation.oneStart] as number)
          : column + (relation.columnOf[chain - relation.otherStart] as number);
      count += 1;
    }
  }
  useStart[local.chains] = count;
}
