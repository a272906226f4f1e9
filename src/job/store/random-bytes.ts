/**
 * Random bytes of the operating system. Node's own interface for the same is one of twenty modules, which a command that only lists jobs
 * would wait for.
 */
export const randomBytes = (count: number): Uint8Array => globalThis.crypto.getRandomValues(new Uint8Array(count));
