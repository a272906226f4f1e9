/** The value at an index, NaN outside: arithmetic goes on and the answer says that there was none. */
export const at = (values: ArrayLike<number>, index: number): number => values[index] ?? Number.NaN;
