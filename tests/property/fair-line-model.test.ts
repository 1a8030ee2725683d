import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { FairLine } from '../../src/queue/fair-line.js';

const GROUPS = ['a', 'b', 'c'];
type Step = { add: string; key: number } | { take: true } | { drop: string };

const steps = fc.array(
  fc.oneof(
    { weight: 5, arbitrary: fc.record({ add: fc.constantFrom(...GROUPS), key: fc.nat(8) }) },
    { weight: 4, arbitrary: fc.constant({ take: true as const }) },
    { weight: 1, arbitrary: fc.record({ drop: fc.constantFrom(...GROUPS) }) },
  ),
  { maxLength: 120 },
);

describe('the line in which shoots wait', () => {
  it('serves those that wait in turn, each first come first served, and loses and doubles nothing', () => {
    fc.assert(
      fc.property(steps, (given: Step[]) => {
        const line = new FairLine<string>();
        /** What waits, in order of coming; and after which turn each group was served last, or came. */
        const waiting = new Map<string, string[]>();
        const turnOf = new Map<string, number>();
        let turn = 0;
        for (const step of given) {
          turn += 1;
          if ('add' in step) {
            const item = `${step.add}${step.key}`;
            const group = waiting.get(step.add) ?? [];
            expect(line.add(step.add, String(step.key), item)).toBe(!group.includes(item));
            if (group.length === 0) turnOf.set(step.add, turn);
            if (!group.includes(item)) waiting.set(step.add, [...group, item]);
          } else if ('drop' in step) {
            expect(line.drop(step.drop)).toBe(waiting.get(step.drop)?.length ?? 0);
            waiting.delete(step.drop);
          } else {
            const next = [...waiting.keys()].filter((group) => waiting.get(group)?.length).sort((x, y) => (turnOf.get(x) ?? 0) - (turnOf.get(y) ?? 0))[0]; // prettier-ignore
            const taken = line.take();
            expect(taken).toBe(next === undefined ? undefined : waiting.get(next)?.[0]);
            if (next === undefined) continue;
            waiting.set(next, waiting.get(next)?.slice(1) ?? []);
            turnOf.set(next, turn);
          }
          expect(line.size).toBe([...waiting.values()].flat().length);
        }
      }),
      { numRuns: 300, seed: 3 },
    );
  });
});
