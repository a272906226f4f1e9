/** The page shows what changes all the time so often, milliseconds: digits that change faster cannot be read. */
export const BEAT_MS = 200;

/**
 * The time until the next beat, milliseconds; more than 0. Whatever counts or grows waits for the same beat: a picture that is made
 * once for all of it costs a fraction of one made for each.
 */
export const untilBeat = (): number => BEAT_MS - (performance.now() % BEAT_MS);
