/** A small generator with a state, so that every test draws the same noise. */
export function seeded(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = state;
    mixed = Math.imul(mixed ^ (mixed >>> 15), mixed | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296;
  };
}

/** Normal noise by the sum of twelve uniform draws. */
export function gaussian(random: () => number): () => number {
  return () => {
    let sum = -6;
    for (let i = 0; i < 12; i++) sum += random();
    return sum;
  };
}

/** Stamps every `intervalMs`, each early or late by up to `jitter` of it. */
export function stamps(n: number, intervalMs: number, jitter = 0, random: () => number = () => 0.5): Float64Array {
  const atMs = new Float64Array(n);
  for (let i = 0; i < n; i++) atMs[i] = (i + jitter * (2 * random() - 1)) * intervalMs;
  return atMs;
}
