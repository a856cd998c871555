// A guesser learns from evenings whose key is open, and is tried on evenings it has not seen: is anything of what a person
// gets to see better than chance at telling cups apart?

/** One cup as somebody saw it: numbers in a fixed order, the class it belongs to, and the evening and tray it stood on. */
export interface SeenCup {
  evening: number;
  tray: string;
  features: readonly number[];
  /** 0 to classes - 1. */
  label: number;
}

export interface GuesserResult {
  cups: number;
  /** Share of cups told right (or of trays, where one cup of a tray is picked). */
  accuracy: number;
  /** By resampling evenings. */
  lower: number;
  upper: number;
  chance: number;
}

const FOLDS = 5;
const STEPS = 300;
const RIDGE = 1;

type Model = (features: readonly number[]) => number[];

/** Guesses classes of cups, evening by evening out of sight. `pick`: one cup of class 1 stands on each tray, and is picked. */
export function guess(
  cups: readonly SeenCup[],
  options: {
    classes: number;
    pick: boolean;
    level: number;
    learn: (cups: readonly SeenCup[], classes: number) => Model;
    chance: () => number;
  },
): GuesserResult {
  const { classes, pick, level, learn, chance } = options;
  const right = new Map<number, { right: number; of: number }>();
  const note = (evening: number, hit: boolean): void => {
    const sum = right.get(evening) ?? { right: 0, of: 0 };
    right.set(evening, { right: sum.right + (hit ? 1 : 0), of: sum.of + 1 });
  };
  for (let fold = 0; fold < FOLDS; fold++) {
    const hidden = cups.filter(({ evening }) => evening % FOLDS === fold);
    const model = learn(
      cups.filter(({ evening }) => evening % FOLDS !== fold),
      classes,
    );
    if (pick) {
      for (const tray of Map.groupBy(hidden, ({ tray }) => tray).values()) {
        const best = tray.reduce((a, b) =>
          (model(b.features)[1] ?? 0) > (model(a.features)[1] ?? 0) ? b : a,
        );
        note(best.evening, best.label === 1);
      }
    } else {
      for (const { features, label, evening } of hidden) note(evening, largest(model(features)) === label);
    }
  }
  const sums = [...right.values()];
  const share = (of: readonly { right: number; of: number }[]): number =>
    of.reduce((sum, one) => sum + one.right, 0) / of.reduce((sum, one) => sum + one.of, 0);
  const drawn = Array.from({ length: 2_000 }, () =>
    share(sums.map(() => sums[Math.floor(chance() * sums.length)] ?? { right: 0, of: 0 })),
  ).sort((a, b) => a - b);
  const at = (quantile: number): number => drawn[Math.round(quantile * (drawn.length - 1))] ?? 0;
  return {
    cups: cups.length,
    accuracy: share(sums),
    lower: at((1 - level) / 2),
    upper: at(1 - (1 - level) / 2),
    chance: pick
      ? mean([...Map.groupBy(cups, ({ tray }) => tray).values()].map((tray) => 1 / tray.length))
      : most(cups, classes),
  };
}

const mean = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;
const largest = (values: readonly number[]): number => values.indexOf(Math.max(...values));

/** Share of the commonest class: what somebody gets who always says that. */
function most(cups: readonly SeenCup[], classes: number): number {
  const counts = Array.from(
    { length: classes },
    (_, label) => cups.filter((cup) => cup.label === label).length,
  );
  return Math.max(...counts) / cups.length;
}

/** Logistic regression with a ridge, one class against the others, on features as they are (scaled) by gradient steps. */
export function logistic(cups: readonly SeenCup[], classes: number): Model {
  const width = cups[0]?.features.length ?? 0;
  const centre = Array.from({ length: width }, (_, at) =>
    mean(cups.map(({ features }) => features[at] ?? 0)),
  );
  const spread = centre.map(
    (middle, at) => Math.sqrt(mean(cups.map(({ features }) => ((features[at] ?? 0) - middle) ** 2))) || 1,
  );
  const scaled = (features: readonly number[]): number[] =>
    centre.map((middle, at) => ((features[at] ?? 0) - middle) / (spread[at] ?? 1));
  const rows = cups.map(({ features }) => scaled(features));
  const weights = Array.from({ length: classes }, (_, label) => {
    const w = new Float64Array(width + 1);
    for (let step = 0; step < STEPS; step++) {
      const slope = new Float64Array(width + 1);
      for (const [index, row] of rows.entries()) {
        const off = sigmoid(dot(w, row)) - (cups[index]?.label === label ? 1 : 0);
        for (let at = 0; at < width; at++) slope[at] = (slope[at] ?? 0) + off * (row[at] ?? 0);
        slope[width] = (slope[width] ?? 0) + off;
      }
      for (let at = 0; at <= width; at++) {
        const pull = at < width ? RIDGE * (w[at] ?? 0) : 0;
        w[at] = (w[at] ?? 0) - (2 / rows.length) * ((slope[at] ?? 0) + pull);
      }
    }
    return w;
  });
  return (features) => {
    const row = scaled(features);
    return weights.map((w) => sigmoid(dot(w, row)));
  };
}

const sigmoid = (x: number): number => 1 / (1 + Math.exp(-x));
function dot(w: Float64Array, row: readonly number[]): number {
  let sum = w[row.length] ?? 0;
  for (let at = 0; at < row.length; at++) sum += (w[at] ?? 0) * (row[at] ?? 0);
  return sum;
}

/** Boosted trees of two levels on pairs of features: finds what only shows by a threshold, or by two features together. */
export function boosted(cups: readonly SeenCup[], classes: number): Model {
  const rounds = 40;
  const forests = Array.from({ length: classes }, (_, label) => {
    const target = cups.map((cup): number => (cup.label === label ? 1 : 0));
    const start = Math.log((mean(target) + 1e-9) / (1 - mean(target) + 1e-9));
    const score = cups.map(() => start);
    const trees: Tree[] = [];
    for (let round = 0; round < rounds; round++) {
      const left = target.map((value, at) => value - sigmoid(score[at] ?? 0));
      const tree = split(
        cups,
        left,
        cups.map((_, at) => at),
        2,
      );
      trees.push(tree);
      for (const [at, { features }] of cups.entries())
        score[at] = (score[at] ?? 0) + 0.3 * leaf(tree, features);
    }
    return { start, trees };
  });
  return (features) =>
    forests.map(({ start, trees }) =>
      sigmoid(start + trees.reduce<number>((sum, tree) => sum + 0.3 * leaf(tree, features), 0)),
    );
}

type Tree = number | { feature: number; below: number; low: Tree; high: Tree };

const leaf = (tree: Tree, features: readonly number[]): number =>
  typeof tree === 'number'
    ? tree
    : leaf((features[tree.feature] ?? 0) < tree.below ? tree.low : tree.high, features);

const CUTS = 8;
const LEAST = 20;

/** The cut that leaves the least squares, by eight quantiles of each feature. */
function split(
  cups: readonly SeenCup[],
  left: readonly number[],
  rows: readonly number[],
  depth: number,
): Tree {
  const own = 4 * mean(rows.map((at) => left[at] ?? 0));
  if (depth === 0 || rows.length < 2 * LEAST) return own;
  let best: { gain: number; feature: number; below: number } | null = null;
  const width = cups[0]?.features.length ?? 0;
  for (let feature = 0; feature < width; feature++) {
    const values = rows.map((at) => cups[at]?.features[feature] ?? 0).sort((a, b) => a - b);
    for (let cut = 1; cut < CUTS; cut++) {
      const below = values[Math.floor((cut * values.length) / CUTS)] ?? 0;
      let [lowN, lowSum, sum] = [0, 0, 0];
      for (const at of rows) {
        const value = left[at] ?? 0;
        sum += value;
        if ((cups[at]?.features[feature] ?? 0) < below) {
          lowN += 1;
          lowSum += value;
        }
      }
      const highN = rows.length - lowN;
      if (lowN < LEAST || highN < LEAST) continue;
      const gain = lowSum ** 2 / lowN + (sum - lowSum) ** 2 / highN;
      if (best === null || gain > best.gain) best = { gain, feature, below };
    }
  }
  if (best === null) return own;
  const { feature, below } = best;
  const isLow = (at: number): boolean => (cups[at]?.features[feature] ?? 0) < below;
  return {
    feature,
    below,
    low: split(cups, left, rows.filter(isLow), depth - 1),
    high: split(
      cups,
      left,
      rows.filter((at) => !isLow(at)),
      depth - 1,
    ),
  };
}
