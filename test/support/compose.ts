/** What docker-compose.yml says of one service, as far as a test needs it. */
export interface ComposeService {
  environment: Record<string, string>;
  healthCheck: string[];
  ports: string[];
  volumes: string[];
}

/** Reads the file as it is written here: two spaces a level, a line per entry. */
export function composeService(text: string, name: string): ComposeService {
  const service = below(text.split('\n'), `  ${name}:`);
  const entries = below(service, '    environment:').flatMap((line) => {
    const [, key, value = ''] = /^\s+(\w+):\s*(.*)$/.exec(line) ?? [];
    return key === undefined ? [] : [[key, value] as const];
  });
  const [, test = '[]'] = /test: (\[.*\])/.exec(below(service, '    healthcheck:').join('\n')) ?? [];
  const list = (key: string) =>
    (service.includes(`    ${key}:`) ? below(service, `    ${key}:`) : []).map((line) =>
      line.trim().replace(/^- '?|'$/g, ''),
    );
  return {
    environment: Object.fromEntries(entries),
    healthCheck: JSON.parse(test.replaceAll("'", '"')) as string[],
    ports: list('ports'),
    volumes: list('volumes'),
  };
}

function below(lines: readonly string[], head: string): string[] {
  const start = lines.indexOf(head);
  if (start < 0) throw new RangeError(`no line ${head.trim()}`);
  const depth = head.search(/\S/);
  const rest = lines.slice(start + 1).filter((line) => line.trim() && !line.trim().startsWith('#'));
  const end = rest.findIndex((line) => line.search(/\S/) <= depth);
  return end < 0 ? rest : rest.slice(0, end);
}

/** `${NAME:-default}` and `${NAME:?told when missing}`, as compose fills them in. */
export function filledIn(value: string, env: Record<string, string>): string {
  return value.replace(/\$\{(\w+):([-?])([^}]*)\}/g, (_, name: string, kind: string, rest: string) => {
    if (env[name]) return env[name];
    if (kind === '?') throw new Error(rest);
    return rest;
  });
}
