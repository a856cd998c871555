import { readdirSync, readFileSync } from 'node:fs';
import { join, posix } from 'node:path';
import { fileURLToPath } from 'node:url';

// The house as a graph: files, what they import (`import type` counts, and so does a worker started by its URL), and
// the folders they stand in.

export const ROOT = fileURLToPath(new URL('../..', import.meta.url));
export const FOLDERS = ['shared', 'db', 'server', 'web/src'];

/** Path from the root -> its text. */
export type Texts = ReadonlyMap<string, string>;
/** Node -> nodes it leads to. */
export type Graph = ReadonlyMap<string, ReadonlySet<string>>;

/** Every file of code below these folders. */
export function textsOf(folders: readonly string[] = FOLDERS): Texts {
  const files = folders.flatMap((folder) =>
    readdirSync(join(ROOT, folder), { recursive: true, encoding: 'utf8' })
      .filter(
        (file) => /\.(ts|svelte)$/.test(file) && !/(^|\/)(node_modules|build|\.svelte-kit)\//.test(file),
      )
      .map((file) => posix.join(folder, file)),
  );
  return new Map(files.map((file) => [file, readFileSync(join(ROOT, file), 'utf8')]));
}

/** Path from the root for what is ours, null for a library. */
export function targetOf(file: string, specifier: string): string | null {
  if (specifier.startsWith('@oddglass/')) return specifier.slice('@oddglass/'.length);
  if (specifier.startsWith('#lib/')) return specifier.replace('#lib/', 'web/src/lib/');
  return specifier.startsWith('.') ? posix.join(posix.dirname(file), specifier) : null;
}

export function importGraph(texts: Texts): Graph {
  return new Map(
    [...texts].map(([file, text]) => {
      const found = text.matchAll(/(?:\bfrom|\bimport|\bnew URL)\s*\(?\s*['"]([^'"]+)['"]/g);
      const targets = [...found].map(([, specifier = '']) => targetOf(file, specifier));
      return [file, new Set(targets.filter((target) => target !== null && texts.has(target)) as string[])];
    }),
  );
}

/** Groups of nodes that lead back to themselves: strongly connected components of two or more (Tarjan 1972). */
export function circlesOf(graph: Graph): string[][] {
  const order = new Map<string, number>();
  const low = new Map<string, number>();
  const stack: string[] = [];
  const circles: string[][] = [];
  const visit = (node: string): number => {
    const own = order.size;
    order.set(node, own);
    low.set(node, own);
    stack.push(node);
    for (const next of graph.get(node) ?? []) {
      const reached = !order.has(next) ? visit(next) : stack.includes(next) ? (order.get(next) ?? own) : own;
      low.set(node, Math.min(low.get(node) ?? own, reached));
    }
    if (low.get(node) === own) {
      const group = stack.splice(stack.indexOf(node));
      if (group.length > 1) circles.push(group.sort());
    }
    return low.get(node) ?? own;
  };
  for (const node of graph.keys()) if (!order.has(node)) visit(node);
  return circles;
}

/**
 * For each folder the graph of what stands in it: its files, and its folders (with a slash at the end) taken as one each.
 * An import leads from one to the other in the lowest folder that holds both ends.
 */
export function folderGraphs(graph: Graph): Map<string, Map<string, Set<string>>> {
  const graphs = new Map<string, Map<string, Set<string>>>();
  for (const [file, targets] of graph) {
    for (const target of targets) {
      const [from, to] = [file.split('/'), target.split('/')];
      let depth = 0;
      while (from[depth] === to[depth] && depth < Math.min(from.length, to.length) - 1) depth += 1;
      const inside = (parts: string[]) => (parts[depth] ?? '') + (parts.length - 1 > depth ? '/' : '');
      const folder = from.slice(0, depth).join('/');
      const siblings = graphs.get(folder) ?? new Map<string, Set<string>>();
      graphs.set(folder, siblings);
      siblings.set(inside(from), (siblings.get(inside(from)) ?? new Set()).add(inside(to)));
      if (!siblings.has(inside(to))) siblings.set(inside(to), new Set());
    }
  }
  return graphs;
}

/** Circles among what stands in one folder, as 'folder: one, other'; circles of files alone are told by circlesOf. */
export function folderCircles(graph: Graph): string[] {
  return [...folderGraphs(graph)].flatMap(([folder, siblings]) =>
    circlesOf(siblings)
      .filter((group) => group.some((name) => name.endsWith('/')))
      .map((group) => `${folder || 'root'}: ${group.join(', ')}`),
  );
}

/** Files that no entry leads to. */
export function unreached(graph: Graph, entries: readonly string[]): string[] {
  const seen = new Set<string>();
  const ahead = [...entries];
  for (let file = ahead.pop(); file !== undefined; file = ahead.pop()) {
    if (seen.has(file)) continue;
    seen.add(file);
    ahead.push(...(graph.get(file) ?? []));
  }
  return [...graph.keys()].filter((file) => !seen.has(file)).sort();
}
