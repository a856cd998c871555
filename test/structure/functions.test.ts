import ts from 'typescript';
import { expect, test } from 'vitest';
import { textsOf } from './house.ts';

// A function is read in one look: 80 lines at most, comments above it not counted.

const MAX_LINES = 80;

/** Functions with a body longer than this, as 'file name lines'. */
function longFunctions(file: string, text: string): string[] {
  const scripts = file.endsWith('.svelte')
    ? [...text.matchAll(/<script[^>]*>([\s\S]*?)<\/script>/g)].map(([, script = '']) => script)
    : [text];
  return scripts.flatMap((script) => {
    const tree = ts.createSourceFile('x.ts', script, ts.ScriptTarget.Latest, true);
    const lineOf = (at: number) => tree.getLineAndCharacterOfPosition(at).line;
    const long: string[] = [];
    const visit = (node: ts.Node): void => {
      if (ts.isFunctionLike(node) && 'body' in node && node.body) {
        const lines = lineOf(node.getEnd()) - lineOf(node.getStart()) + 1;
        if (lines > MAX_LINES) long.push(`${file} ${node.name?.getText() ?? 'closure'} ${lines}`);
      }
      ts.forEachChild(node, visit);
    };
    visit(tree);
    return long;
  });
}

test('no function is longer than one look', () => {
  const texts = textsOf();
  expect(texts.size).toBeGreaterThan(600);
  expect([...texts].flatMap(([file, text]) => longFunctions(file, text))).toEqual([]);
});

test('a long function is told, in pages too', () => {
  const lines = (count: number) => 'x();\n'.repeat(count);
  expect(longFunctions('a.ts', `function fits() {\n${lines(78)}}`)).toEqual([]);
  expect(longFunctions('a.ts', `function long() {\n${lines(79)}}`)).toEqual(['a.ts long 81']);
  expect(longFunctions('A.svelte', `<script>\nconst a = () => {\n${lines(79)}};\n</script>`)).toEqual([
    'A.svelte closure 81',
  ]);
});
