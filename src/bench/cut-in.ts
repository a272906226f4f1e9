/**
 * A cut in a message of the daemon, whatever else the message holds: an off is never refused for its spelling. Null where
 * the message is none. `id` null: there is nobody to answer to.
 */
export function cutIn(raw: unknown): { by: string; id: number | null } | null {
  if (typeof raw !== "object" || raw === null || !("type" in raw) || raw.type !== "cut") return null;
  const by = "by" in raw && typeof raw.by === "string" ? raw.by : "an unnamed person";
  const id = "id" in raw && typeof raw.id === "number" && Number.isSafeInteger(raw.id) ? raw.id : null;
  return { by, id };
}
