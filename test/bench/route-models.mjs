// Invented route models by class, size and seed, for the tests and the benchmark of the solver.
// Plain JavaScript, so that a benchmark can import it without a build.

/** Random numbers in [0, 1) from a seed (splitmix32). */
export function randomStream(seed) {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x9e3779b9) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 16), 0x21f0aaad);
    mixed = Math.imul(mixed ^ (mixed >>> 15), 0x735a2d97);
    return ((mixed ^ (mixed >>> 15)) >>> 0) / 2 ** 32;
  };
}

/**
 * A route-model/1.
 * - `shop`: set-ups come in families of about five (one work centre, several directions) and are
 *   dear; the chains of a feature use one to three set-ups of one of its families.
 * - `hard`: no structure: one to three set-ups out of all, relations between any features.
 * - `drawing`: groups of alike features that share their chains' set-ups, costs and part plans, as
 *   a pattern of holes does; two work centres offer the same direction at nearly the same cost.
 * Costs are whole minor units unless `floats` is set. `conflict` is the chance that a chain does not
 * work with a part plan; `forbidden` and `relations` are pairs a feature, `paying` the share of
 * relation pairs with a negative cost.
 */
export function makeRouteModel({
  kind,
  features,
  chains,
  setups,
  plans = 6,
  seed,
  conflict = 0.2,
  forbidden = 0.5,
  relations = 0.3,
  paying = 0,
  floats = false,
}) {
  const random = randomStream(seed * 7919 + features * 31 + chains * 17 + setups);
  const between = (low, high) => {
    const value = low + (high - low) * random();
    return floats ? value : Math.round(value);
  };
  const below = (count) => Math.min(count - 1, Math.floor(random() * count));
  const some = (from, count) => {
    const left = [...from];
    const out = [];
    while (out.length < count && left.length > 0) out.push(...left.splice(below(left.length), 1));
    return out;
  };
  const pad = (number) => String(number).padStart(3, '0');
  const range = (count) => Array.from({ length: count }, (_, index) => index);

  const familySize = kind === 'drawing' ? 6 : 5;
  const families = [];
  for (const s of range(setups)) {
    if (s % familySize === 0) families.push({ base: between(10000, 50000), members: [] });
    families.at(-1).members.push(s);
  }
  const partPlans = range(plans).map((p) => ({ id: `P${pad(p)}`, cost: between(0, 60000) }));
  const setupRows = families.flatMap((family) =>
    family.members.map((s) => ({
      id: `S${pad(s)}`,
      cost: kind === 'hard' ? between(4000, 20000) : between(0.7 * family.base, 1.3 * family.base),
    })),
  );
  const worksWith = (always) =>
    partPlans.filter((_, p) => random() >= conflict || (always && p === 0)).map(({ id }) => id);
  const setupIds = (numbers) => numbers.map((s) => setupRows[s].id);

  const oneChain = (home, always) => {
    const family = kind === 'hard' ? range(setups) : families[home[below(home.length)]].members;
    return {
      cost: between(1000, 15000),
      setups: setupIds(some(family, 1 + below(3))),
      partPlans: worksWith(always),
    };
  };
  const featureRows = [];
  let pattern = [];
  let left = 0;
  for (const f of range(features)) {
    if (left === 0 || kind !== 'drawing') {
      const home = some(range(families.length), 2);
      pattern = range(chains).map((c) => oneChain(home, c === 0));
      left = kind === 'drawing' ? 2 + below(7) : 1;
    }
    left -= 1;
    featureRows.push({
      id: `F${pad(f)}`,
      chains: pattern.map((chain, c) => ({ id: `F${pad(f)}C${pad(c)}`, ...chain })),
    });
  }

  const pairs = [];
  // The first chains stay free of forbidden pairs, so that a choice exists.
  const clashes = features < 2 || chains < 2 ? 0 : Math.round(forbidden * features);
  for (let i = 0; i < clashes; i += 1) {
    const [one, other] = some(range(features), 2);
    pairs.push({
      a: featureRows[one].chains[1 + below(chains - 1)].id,
      b: featureRows[other].chains[1 + below(chains - 1)].id,
      cost: null,
    });
  }
  for (const f of range(features)) {
    if (random() >= relations || f === 0) continue;
    // Real parts locate most features from a few datum features.
    const datum = featureRows[below(kind === 'hard' ? f : Math.min(f, 3))];
    const relocation = between(300, 6000);
    for (const a of featureRows[f].chains) {
      for (const b of datum.chains) {
        const shared = a.setups.some((id) => b.setups.includes(id));
        if (shared && random() < paying) {
          pairs.push({ a: a.id, b: b.id, cost: -between(100, 3000) });
        } else if (!shared && random() < 0.8) pairs.push({ a: a.id, b: b.id, cost: relocation });
      }
    }
  }
  return {
    schema: 'route-model/1',
    partPlans,
    setups: setupRows,
    features: featureRows,
    pairs,
  };
}

/**
 * The model with a twin of every set-up at the same cost, and every chain on every mix of twins: a
 * model full of choices of equal cost. Pairs are left out.
 */
export function twinModel(model) {
  const twin = (id) => `${id}-twin`;
  const mixes = (ids) =>
    ids.reduce(
      (lists, id) =>
        lists.flatMap((list) => [
          [...list, id],
          [...list, twin(id)],
        ]),
      [[]],
    );
  return {
    ...model,
    setups: model.setups.flatMap((setup) => [setup, { id: twin(setup.id), cost: setup.cost }]),
    features: model.features.map((feature) => ({
      id: feature.id,
      chains: feature.chains.flatMap((chain) =>
        mixes(chain.setups).map((setups, mix) => ({ ...chain, id: `${chain.id}-${mix}`, setups })),
      ),
    })),
    pairs: [],
  };
}

/** The same model with every list in another order. */
export function shuffleModel(model, seed) {
  const random = randomStream(seed);
  const shuffle = (rows) => {
    const out = [...rows];
    for (let i = out.length - 1; i > 0; i -= 1) {
      const j = Math.floor(random() * (i + 1));
      [out[i], out[j]] = [out[j], out[i]];
    }
    return out;
  };
  return {
    ...model,
    partPlans: shuffle(model.partPlans),
    setups: shuffle(model.setups),
    features: shuffle(model.features).map((feature) => ({
      ...feature,
      chains: shuffle(feature.chains).map((chain) => ({
        ...chain,
        setups: shuffle(chain.setups),
        partPlans: shuffle(chain.partPlans),
      })),
    })),
    pairs: shuffle(model.pairs).map((pair) =>
      random() < 0.5 ? pair : { a: pair.b, b: pair.a, cost: pair.cost },
    ),
  };
}

/**
 * The model as an LP text for HiGHS. Names are short and safe, numbers are printed in full. A pair
 * of chains a and b becomes y >= a + b - 1 (and y <= a, y <= b where it pays).
 */
export function modelAsLp(model, { relaxed = false } = {}) {
  const objective = [];
  const rows = [];
  const binaries = [];
  const term = (cost, name) => `${cost < 0 ? '-' : '+'} ${Math.abs(cost)} ${name}`;
  const planName = new Map(model.partPlans.map((plan, p) => [plan.id, `p${p}`]));
  const setupName = new Map(model.setups.map((setup, s) => [setup.id, `s${s}`]));
  const chainName = new Map();
  for (const plan of model.partPlans) {
    objective.push(term(plan.cost, planName.get(plan.id)));
    binaries.push(planName.get(plan.id));
  }
  rows.push(`${[...planName.values()].map((name) => `+ 1 ${name}`).join(' ')} = 1`);
  for (const setup of model.setups) {
    objective.push(term(setup.cost, setupName.get(setup.id)));
    binaries.push(setupName.get(setup.id));
  }
  model.features.forEach((feature, f) => {
    const names = feature.chains.map((chain, c) => {
      const name = `f${f}c${c}`;
      chainName.set(chain.id, name);
      objective.push(term(chain.cost, name));
      binaries.push(name);
      return name;
    });
    // A feature without chains: a row that cannot hold.
    rows.push(names.length === 0 ? '+ 0 p0 = 1' : `${names.map((n) => `+ 1 ${n}`).join(' ')} = 1`);
    for (const [id, name] of setupName) {
      const users = feature.chains.flatMap((c, i) => (c.setups.includes(id) ? [names[i]] : []));
      if (users.length > 0) rows.push(`${users.map((n) => `+ 1 ${n}`).join(' ')} - 1 ${name} <= 0`);
    }
    for (const [id, name] of planName) {
      const users = feature.chains.flatMap((c, i) => (c.partPlans.includes(id) ? [] : [names[i]]));
      if (users.length > 0) rows.push(`${users.map((n) => `+ 1 ${n}`).join(' ')} + 1 ${name} <= 1`);
    }
  });
  const featureOf = new Map(
    model.features.flatMap((feature) => feature.chains.map((chain) => [chain.id, feature.id])),
  );
  const bounds = [];
  model.pairs.forEach((pair, i) => {
    if (featureOf.get(pair.a) === featureOf.get(pair.b)) return;
    const [a, b] = [chainName.get(pair.a), chainName.get(pair.b)];
    if (pair.cost === null) {
      rows.push(`+ 1 ${a} + 1 ${b} <= 1`);
      return;
    }
    objective.push(term(pair.cost, `y${i}`));
    bounds.push(`0 <= y${i} <= 1`);
    if (pair.cost >= 0) rows.push(`+ 1 y${i} - 1 ${a} - 1 ${b} >= -1`);
    else rows.push(`+ 1 y${i} - 1 ${a} <= 0`, `+ 1 y${i} - 1 ${b} <= 0`);
  });
  if (relaxed) for (const name of binaries) bounds.push(`0 <= ${name} <= 1`);
  return [
    'Minimize',
    ' obj:',
    ...objective.map((text) => `  ${text}`),
    'Subject To',
    ...rows.map((text, i) => ` r${i}: ${text}`),
    ...(bounds.length > 0 ? ['Bounds', ...bounds.map((text) => ` ${text}`)] : []),
    ...(relaxed ? [] : ['Binaries', ...binaries.map((name) => ` ${name}`)]),
    'End',
    '',
  ].join('\n');
}
