import type { z } from 'zod';

/** Something a result could not say: where, and why. For the log; the page says it in its place. */
export interface Gap {
  /** Number of the part; null for what concerns several parts. */
  part: number | null;
  /** Path of the figure within the part; empty when the whole part is meant. */
  figure: string;
  reason: string;
}

type Path = readonly PropertyKey[];

// A document with more faults than this has one fault that is not in its figures.
const MAX_GAPS = 200;

/**
 * The same value without what its contract cannot hold (not a number, infinite, a probability beyond 0 to 1): each such
 * figure becomes null in the smallest place that may be null, or an empty list. Null where no such place was found.
 * A figure that cannot be computed must not withhold the page on which all others stand.
 * Example: `presentable(z.object({ p: z.number().nullable() }), { p: NaN }).value` is { p: null }
 */
export function presentable<Schema extends z.ZodType>(
  schema: Schema,
  value: z.output<Schema>,
): { value: z.output<Schema> | null; gaps: Omit<Gap, 'part'>[] } {
  const gaps: Omit<Gap, 'part'>[] = [];
  let told: unknown = value;
  for (let round = 0; round < MAX_GAPS; round++) {
    const { success, error } = schema.safeParse(told);
    if (success) return { value: told as z.output<Schema>, gaps };
    const [issue] = error.issues;
    const path = issue?.path ?? [];
    const mended = withoutFigure(schema, told, path);
    gaps.push({ figure: path.map(String).join('.'), reason: issue?.message ?? 'does not fit the contract' });
    if (mended === null) break;
    told = mended;
  }
  return { value: null, gaps };
}

/** The value with null, or an empty list, at the deepest place on the path where the contract allows it. */
function withoutFigure(schema: z.ZodType, value: unknown, path: Path): unknown {
  for (let depth = path.length; depth > 0; depth--) {
    const place = path.slice(0, depth);
    for (const empty of [null, ...(Array.isArray(at(value, place)) ? [[]] : [])]) {
      const candidate = replaced(value, place, empty);
      const { success, error } = schema.safeParse(candidate);
      if (success || !error.issues.some((issue) => touches(issue.path, place))) return candidate;
    }
  }
  return null;
}

/** Does an issue concern this place, something in it, or something around it? */
function touches(path: Path, place: Path): boolean {
  const shared = Math.min(path.length, place.length);
  return path.slice(0, shared).every((key, index) => key === place[index]);
}

function at(value: unknown, path: Path): unknown {
  return path.reduce<unknown>(
    (inner, key) =>
      typeof inner === 'object' && inner !== null ? (inner as Record<PropertyKey, unknown>)[key] : undefined,
    value,
  );
}

function replaced(value: unknown, [key, ...rest]: Path, by: unknown): unknown {
  if (key === undefined) return by;
  if (Array.isArray(value))
    return value.map((item: unknown, index) => (index === key ? replaced(item, rest, by) : item));
  const object = (value ?? {}) as Record<PropertyKey, unknown>;
  return { ...object, [key]: replaced(object[key], rest, by) };
}
