import type { ArmedSupply } from "../../shared/guardian.ts";

/** The bench process's side of the guardian: armed before anything is energised, disarmed after off was proved. */
export interface GuardianPort {
  /** Settles when the guardian has said that it holds the bytes; throws BenchError when it does not. */
  arm(record: string, supplies: readonly ArmedSupply[]): Promise<void>;
  disarm(): void;
  readonly isAlive: boolean;
  /** Answers with the way to hear no more: one guardian serves many runs. */
  onLost(listener: (because: string) => void): () => void;
  close(): void;
}
