/** The text of a caught value: the message of an error, else the value as text. */
export const messageOf = (cause: unknown): string => (cause instanceof Error ? cause.message : String(cause));
