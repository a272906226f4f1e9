/**
 * The limits a feed may be raised to, rising, at most two, none above `limitAmps` and none more than twice the one
 * before. The shipped steps are taken where they fit; else each step doubles.
 */
export function ladderSteps(firstAmps: number, limitAmps: number, shipped: readonly number[]): number[] {
  const steps: number[] = [];
  let from = firstAmps;
  while (steps.length < 2 && from < limitAmps * 0.999) {
    const most = Math.min(2 * from, limitAmps);
    const now = from;
    const fitting = shipped.find((each) => each > now * 1.001 && each <= most);
    const next = fitting ?? most;
    steps.push(next);
    from = next;
  }
  return steps;
}
