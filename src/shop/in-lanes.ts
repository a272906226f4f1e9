/**
 * Does the work on each item, a few at a time, in their order. After a failure, or once `isOver` says so, none is begun any more. Settles
 * when nothing is under way; rejects with the first failure.
 */
export async function inLanes<T>(
  items: readonly T[],
  lanes: number,
  work: (item: T) => Promise<void>,
  isOver: () => boolean = () => false,
): Promise<void> {
  const left = items.values();
  const failures: unknown[] = [];
  const lane = async (): Promise<void> => {
    for (const item of left) {
      try {
        await work(item);
      } catch (cause) {
        failures.push(cause);
      }
      if (failures.length > 0 || isOver()) return;
    }
  };
  await Promise.all(Array.from({ length: lanes }, () => (isOver() ? undefined : lane())));
  if (failures.length > 0) throw failures[0];
}
