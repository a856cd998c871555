import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { Ajv } from 'ajv';
import draft4 from 'ajv-draft-04';
import formats from 'ajv-formats';
import { parse } from 'yaml';

// A data package, checked by others' means: its description against the JSON Schemas that Frictionless publishes, its
// tables by Frictionless' own library for table schemas.

/** Of `test/reference/frictionless`; every profile that a package of ours names. */
const PROFILES = ['data-package', 'tabular-data-resource', 'data-resource'] as const;

export interface TableResource {
  name: string;
  path: string;
  encoding: string;
  format: string;
  dialect: { delimiter: string; lineTerminator: string; quoteChar: string; doubleQuote: boolean };
  schema: { fields: { name: string; type: string }[]; foreignKeys?: { reference: { resource: string } }[] };
}
type Resource = { profile?: string; name: string; path: string } & Partial<TableResource>;
export interface Description {
  profile?: string;
  resources: Resource[];
}
type Row = Record<string, unknown>;

/** What is used of tableschema, which ships no types. */
interface TableLibrary {
  Table: {
    load(
      source: string,
      options: Record<string, unknown>,
    ): Promise<{
      read(options: {
        keyed: true;
        relations: Record<string, Row[]> | false;
        forceCast: false;
      }): Promise<Row[]>;
    }>;
  };
}
const { Table } = createRequire(import.meta.url)('tableschema') as TableLibrary;

/** Both libraries are CommonJS and type their default export as the module of another kind. */
const Draft4 = draft4 as unknown as typeof Ajv;
const addFormats = formats as unknown as (ajv: Ajv) => void;

/** What the profiles of package and resources object to. */
export function objections(description: Description): string[] {
  // The profiles carry notes for forms (order, context, areas of text), which are no keywords of JSON Schema.
  const ajv = new Draft4({ strict: false, allErrors: true, formats: { textarea: true } });
  addFormats(ajv);
  const check = (profile: string | undefined, data: unknown, where: string): string[] => {
    const name = PROFILES.find((one) => one === profile);
    if (!name) return [`${where} names no profile that is known here: ${profile}`];
    const schema = JSON.parse(
      readFileSync(new URL(`../reference/frictionless/${name}.json`, import.meta.url), 'utf8'),
    ) as object;
    const validate = ajv.compile(schema);
    validate(data);
    return (validate.errors ?? []).map(({ instancePath, message }) => `${where}${instancePath} ${message}`);
  };
  return [
    ...check(description.profile, description, 'package'),
    ...description.resources.flatMap((one) => check(one.profile, one, one.name)),
  ];
}

/**
 * Rows of a table, each cast as its schema says. Throws where one does not fit, a key is not unique or refers to nothing.
 */
export async function readTable(description: Description, name: string, folder: string): Promise<Row[]> {
  const named = (wanted: string): TableResource => {
    const found = tablesOf(description).find((one) => one.name === wanted);
    if (!found) throw new RangeError(`no table is called ${wanted}`);
    return found;
  };
  const resource = named(name);
  const relations: Record<string, Row[]> = {};
  // By themselves: the library puts the row that a key refers to in its place. '' is the table itself.
  for (const { reference } of resource.schema.foreignKeys ?? [])
    relations[reference.resource] ??= await rowsOf(named(reference.resource || name), folder, false);
  return rowsOf(resource, folder, relations);
}

export function tablesOf({ resources }: Description): TableResource[] {
  return resources.filter((one): one is TableResource & Resource => one.schema !== undefined);
}

async function rowsOf(
  { path, schema, format, encoding, dialect }: TableResource,
  folder: string,
  relations: Record<string, Row[]> | false,
): Promise<Row[]> {
  const { delimiter, lineTerminator, quoteChar, doubleQuote } = dialect;
  const table = await Table.load(join(folder, path), {
    schema,
    strict: true,
    format,
    encoding,
    delimiter,
    lineterminator: lineTerminator,
    quotechar: quoteChar,
    doublequote: doubleQuote,
  });
  return table.read({ keyed: true, relations, forceCast: false });
}

/** What the schema of CFF 1.2.0 objects to in a CITATION.cff, and what it says. */
export function readCitation(text: string): { objections: string[]; citation: Record<string, unknown> } {
  const ajv = new Ajv({ strict: false, allErrors: true });
  addFormats(ajv);
  const schema = readFileSync(new URL('../reference/cff/schema.json', import.meta.url), 'utf8');
  const validate = ajv.compile(JSON.parse(schema) as object);
  // YAML 1.2: a day is a text, as the schema asks.
  const citation = parse(text) as Record<string, unknown>;
  validate(citation);
  const objected = validate.errors ?? [];
  return { citation, objections: objected.map(({ instancePath, message }) => `${instancePath} ${message}`) };
}

/** The first Python with pandas; null where there is none. */
export function pythonWithPandas(): string | null {
  const candidates = [process.env['PYTHON'] ?? 'python3', 'python3', '/usr/bin/python3'];
  const has = (python: string) =>
    spawnSync(python, ['-c', 'import pandas'], { timeout: 60_000 }).status === 0;
  return candidates.find(has) ?? null;
}
