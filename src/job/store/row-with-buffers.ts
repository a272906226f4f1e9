/** A row of SQLite, its bytes as Buffer in place of bare bytes, as the code that reads records expects them. */
export function rowWithBuffers(row: unknown): unknown {
  const record = row as Record<string, unknown>;
  for (const [key, value] of Object.entries(record)) {
    if (value instanceof Uint8Array && !Buffer.isBuffer(value))
      record[key] = Buffer.from(value.buffer, value.byteOffset, value.byteLength);
  }
  return record;
}
