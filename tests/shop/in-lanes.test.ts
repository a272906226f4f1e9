import fc from "fast-check";
import { expect, test } from "vitest";
import { inLanes } from "../../src/shop/in-lanes.ts";

const turns = async (count: number): Promise<void> => {
  for (let turn = 0; turn < count; turn++) await Promise.resolve();
};

test("each item is worked on once, in order of beginning, and no more at a time than there are lanes", async () => {
  await fc.assert(
    fc.asyncProperty(fc.array(fc.nat(9)), fc.integer({ min: 1, max: 5 }), async (lengths, lanes) => {
      const begun: number[] = [];
      let [under, most] = [0, 0];
      await inLanes([...lengths.entries()], lanes, async ([at, length]) => {
        begun.push(at);
        most = Math.max(most, ++under);
        await turns(length);
        under--;
      });
      expect(begun).toEqual(lengths.map((_, at) => at));
      expect(most).toBe(Math.min(lanes, lengths.length));
      expect(under).toBe(0);
    }),
  );
});

test("after a failure nothing is begun, what is under way is waited for, and the first failure is told", async () => {
  const ended: string[] = [];
  const work = async (item: string): Promise<void> => {
    await turns(item === "slow" ? 20 : 1);
    ended.push(item);
    if (item.startsWith("bad")) throw new Error(item);
  };
  await expect(inLanes(["slow", "bad", "bad too", "never"], 3, work)).rejects.toThrow("bad");
  expect(ended).toEqual(["bad", "bad too", "slow"]);
});

test("once it is over nothing is begun", async () => {
  const done: number[] = [];
  const work = async (item: number): Promise<void> => void done.push(item);
  await inLanes([1, 2, 3, 4], 1, work, () => done.length === 2);
  expect(done).toEqual([1, 2]);
  await inLanes([5], 2, work, () => true);
  expect(done).toEqual([1, 2]);
});
