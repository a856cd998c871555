/** What the key says of a cup, tray or seat, so that a test can look for it in what people get to see. */
export interface Truth {
  /** Any id or code of a cup, tray or seat -> the class nobody may learn (its sample, or its kind of tray). */
  classes: Map<string, string>;
  /** Strings that must not occur at all: ids of samples, nonces, seeds. */
  secrets: string[];
}

interface Row {
  key: string;
  value: Record<string, unknown>;
  place: number;
}

// Fewer rows than this that agree are chance: ten cups of one sample by chance happen once in a thousand draws.
const TELLING = 10;

/**
 * Everything in a JSON value from which somebody could learn which cup holds what: a secret by value, or anything
 * about rows of cups, trays or seats (a field, a place in the list, a count) that goes with the class.
 */
export function findLeaks(json: unknown, truth: Truth): string[] {
  const text = JSON.stringify(json) ?? '';
  const leaks = truth.secrets
    .filter((secret) => text.includes(secret))
    .map((secret) => `secret ${secret} by value`);
  visit(json, '$', (list, path) => {
    for (const rows of rowsByField(list, truth)) leaks.push(...tellingFeatures(rows, truth, path));
  });
  return [...new Set(leaks)];
}

function visit(value: unknown, path: string, look: (list: unknown[], path: string) => void): void {
  if (Array.isArray(value)) {
    look(value, path);
    value.forEach((item) => visit(item, `${path}[]`, look));
  } else if (typeof value === 'object' && value !== null) {
    for (const [key, item] of Object.entries(value)) visit(item, `${path}.${key}`, look);
  }
}

/** Rows that name a cup, tray or seat, one set of rows for each field that does. Nested objects are flattened. */
function rowsByField(list: unknown[], truth: Truth): Row[][] {
  const byField = new Map<string, Row[]>();
  list.forEach((item, place) => {
    const value = flat(item);
    for (const [field, content] of Object.entries(value)) {
      const key = `${field.split('.').at(-1)}:${String(content)}`;
      if (truth.classes.has(key)) byField.set(field, [...(byField.get(field) ?? []), { key, value, place }]);
    }
  });
  return [...byField.values()].filter((rows) => rows.length >= TELLING);
}

function flat(value: unknown, prefix = ''): Record<string, unknown> {
  if (typeof value !== 'object' || value === null) return { [prefix || 'value']: value };
  if (Array.isArray(value)) return { [`${prefix}.length`]: value.length };
  return Object.assign(
    {},
    ...Object.entries(value).map(([key, item]) => flat(item, prefix ? `${prefix}.${key}` : key)),
  ) as Record<string, unknown>;
}

function tellingFeatures(rows: Row[], truth: Truth, path: string): string[] {
  const classOf = (row: Row): string => truth.classes.get(row.key) ?? '';
  if (new Set(rows.map(classOf)).size < 2) return [`${path}: only rows of one class are listed`];
  const leaks: string[] = [];
  const features = new Set(rows.flatMap((row) => Object.keys(row.value)));
  for (const feature of features) {
    const having = rows.filter((row) => feature in row.value);
    const groups = Map.groupBy(having, (row) => String(row.value[feature]));
    for (const [value, group] of groups) {
      // Many rows of one cup or seat say no more than one.
      const different = new Set(group.map(({ key }) => key)).size;
      if (different >= TELLING && new Set(group.map(classOf)).size === 1) {
        leaks.push(`${path}.${feature} = ${value} goes with one class in ${group.length} rows`);
      }
    }
    if (separates(having, (row) => orderOf(row.value[feature]), classOf))
      leaks.push(`${path}.${feature} orders the classes`);
  }
  if (separates(rows, (row) => row.place, classOf))
    leaks.push(`${path}: the order of rows tells the classes apart`);
  return leaks;
}

function orderOf(value: unknown): number | string | null {
  if (typeof value === 'number') return value;
  return typeof value === 'string' ? value : null;
}

/** Does sorting by this put all rows of one class before, or after, all others? */
function separates(
  rows: Row[],
  by: (row: Row) => number | string | null,
  classOf: (row: Row) => string,
): boolean {
  const sortable = rows.map((row) => ({ at: by(row), in: classOf(row) })).filter(({ at }) => at !== null);
  if (sortable.length < 2 * TELLING || new Set(sortable.map(({ at }) => at)).size < 2) return false;
  sortable.sort((a, b) => (a.at! < b.at! ? -1 : a.at! > b.at! ? 1 : 0));
  return [...new Set(sortable.map((row) => row.in))].some((one) => {
    const own = sortable.filter((row) => row.in === one).length;
    if (own < TELLING || sortable.length - own < TELLING) return false;
    const changes = sortable.filter(
      (row, index) => index > 0 && (row.in === one) !== (sortable[index - 1]?.in === one),
    );
    return changes.length <= 1;
  });
}

/** Every key in a value, at any depth. */
export function keysOf(value: unknown): string[] {
  if (Array.isArray(value)) return value.flatMap(keysOf);
  if (typeof value !== 'object' || value === null) return [];
  return Object.entries(value).flatMap(([key, item]) => [key, ...keysOf(item)]);
}
