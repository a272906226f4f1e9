/** Numbers that look random and are the same for the same seed. */
export interface Random {
  /** Uniform in [0, 1). */
  next(): number;
  /** Normal, mean 0, standard deviation 1. */
  normal(): number;
  /** Exponential with mean 1. */
  exponential(): number;
}

/** A generator of its own for each part of a simulation. Method: mulberry32, normal by Box and Muller (both from memory). */
export function seededRandom(seed: number): Random {
  let state = seed >>> 0;
  const next = (): number => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = state;
    mixed = Math.imul(mixed ^ (mixed >>> 15), mixed | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296;
  };
  return {
    next,
    normal: () => Math.sqrt(-2 * Math.log(1 - next())) * Math.cos(2 * Math.PI * next()),
    exponential: () => -Math.log(1 - next()),
  };
}

/** A seed drawn from a name, so that each instrument has its own noise. Method: FNV-1a. */
export function seedOf(seed: number, name: string): number {
  let hash = 0x811c9dc5 ^ seed;
  for (const char of name) hash = Math.imul(hash ^ char.charCodeAt(0), 0x01000193);
  return hash >>> 0;
}
