/** A moment between two offs. Taken when something is asked for, looked at before it is done. */
export type EpochToken = number;

/**
 * Tells whether an off came since something was asked for. Every cut and every stop raises it; whoever asks for
 * something takes a token first and does not go on once `hasRisenSince(token)` is true. One rule for every place where
 * time passes between a request and what it energises.
 */
export class Epoch {
  #risen = 0;

  /** The token of now. */
  get token(): EpochToken {
    return this.#risen;
  }

  /** A cut or a stop came: what was asked for before it must not go on. */
  raise(): void {
    this.#risen += 1;
  }

  /** True where a cut or a stop came after this token was taken. */
  hasRisenSince(token: EpochToken): boolean {
    return this.#risen !== token;
  }
}
