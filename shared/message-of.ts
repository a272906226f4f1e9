/** What a caught value says: the message of an error, else the value as text. */
export const messageOf = (cause: unknown): string => (cause instanceof Error ? cause.message : String(cause));
