/** An attribute as it is typed. */
export interface AttributeDraft {
  /** Only for the page: keeps fields with their row. */
  key: number;
  /** Fixed when it came from the common ones or was kept; null: made from the name. */
  id: string | null;
  name: string;
  low: string;
  high: string;
}

const MAX_LETTERS = 36;

/** Ids for a list of attributes: those fixed, and for the others one from the name, each only once. */
export function attributeIds(attributes: readonly Pick<AttributeDraft, 'id' | 'name'>[]): string[] {
  const taken = new Set(attributes.flatMap(({ id }) => id ?? []));
  return attributes.map(({ id, name }, index) => {
    if (id !== null) return id;
    const stem = slugOf(name) || `attribute-${index + 1}`;
    let unique = stem;
    for (let count = 2; taken.has(unique); count += 1) unique = `${stem}-${count}`;
    taken.add(unique);
    return unique;
  });
}

/** Small letters, digits and hyphens, a letter first; empty when the name has no Latin letter. */
function slugOf(name: string): string {
  return name
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^[^a-z]+/, '')
    .slice(0, MAX_LETTERS)
    .replace(/-+$/, '');
}
