/** A row of SQLite, its bytes as Buffer in place of bare bytes, as the code that reads records expects them. */
export function rowWithBuffers(row: unknown): unknown {
  const record = row as Record<string, unknown>;
  // No list of entries is made: rows come by the thousand, and most hold texts alone.
  for (const key in record) {
    const value = record[key];
    if (typeof value === "object" && value instanceof Uint8Array && !Buffer.isBuffer(value))
      record[key] = Buffer.from(value.buffer, value.byteOffset, value.byteLength);
  }
  return record;
}
