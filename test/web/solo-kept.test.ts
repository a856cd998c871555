import { expect, test } from 'vitest';
import { KeptAnswer, type Shelf } from '../../web/src/lib/solo/kept-answer.ts';

const ID = '0f8fad5b-d9cb-469f-a165-70867728950e';
const answer = { id: ID, tray: 3, answer: { kind: 'choice' as const, codes: ['482'] } };

function shelf(): Shelf & { content: Map<string, string> } {
  const content = new Map<string, string>();
  return {
    content,
    getItem: (key) => content.get(key) ?? null,
    setItem: (key, value) => void content.set(key, value),
    removeItem: (key) => void content.delete(key),
  };
}

test('a locked answer survives a reload under the same id, and is gone once it was acknowledged', () => {
  const own = shelf();
  expect(new KeptAnswer(ID, own).keep(answer)).toBe(true);
  expect(new KeptAnswer(ID, own).read()).toEqual(answer);
  expect(new KeptAnswer('another', own).read()).toBeNull();
  new KeptAnswer(ID, own).drop();
  expect(own.content.size).toBe(0);
});

test('what is no answer is not taken for one, and a browser that keeps nothing is told', () => {
  const own = shelf();
  own.setItem(`oddglass-solo-${ID}`, '{"id":1}');
  expect(new KeptAnswer(ID, own).read()).toBeNull();
  own.setItem(`oddglass-solo-${ID}`, 'not json');
  expect(new KeptAnswer(ID, own).read()).toBeNull();
  expect(new KeptAnswer(ID, null).keep(answer)).toBe(false);
  const refusing: Shelf = {
    getItem: () => {
      throw new Error('refused');
    },
    setItem: () => {
      throw new Error('refused');
    },
    removeItem: () => {
      throw new Error('refused');
    },
  };
  expect(new KeptAnswer(ID, refusing).keep(answer)).toBe(false);
  expect(new KeptAnswer(ID, refusing).read()).toBeNull();
  expect(() => new KeptAnswer(ID, refusing).drop()).not.toThrow();
});
