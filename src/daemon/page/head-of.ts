/** The first bytes of a stream, `most` of them or as many as there are, and the whole of it from its beginning. */
export async function headOf(
  stream: AsyncIterable<Uint8Array>,
  most: number,
): Promise<{ bytes: Uint8Array; whole: () => AsyncIterable<Uint8Array> }> {
  const source = stream[Symbol.asyncIterator]();
  const first: Uint8Array[] = [];
  let count = 0;
  while (count < most) {
    const { value, done } = await source.next();
    if (done === true) break;
    first.push(value);
    count += value.length;
  }
  const whole = async function* () {
    yield* first;
    yield* { [Symbol.asyncIterator]: () => source };
  };
  return { bytes: Buffer.concat(first).subarray(0, most), whole };
}
