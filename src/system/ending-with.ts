/**
 * The same parts; `end` is called once when they are over: at their end, at an error, or where whoever reads them stops, also before
 * the first.
 */
export function endingWith<T>(parts: AsyncIterable<T>, end: () => void | Promise<void>): AsyncIterable<T> {
  const inner = parts[Symbol.asyncIterator]();
  let isOver = false;
  const over = async (): Promise<void> => {
    if (isOver) return;
    isOver = true;
    await end();
  };
  return {
    [Symbol.asyncIterator]: () => ({
      async next() {
        try {
          const result = await inner.next();
          if (result.done === true) await over();
          return result;
        } catch (cause) {
          await over();
          throw cause;
        }
      },
      async return() {
        await inner.return?.();
        await over();
        return { done: true, value: undefined };
      },
    }),
  };
}
