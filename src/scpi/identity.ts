/** Who an instrument says it is. `raw` is the whole answer, which later answers are compared with. */
export interface Identity {
  raw: string;
  maker: string;
  model: string;
  /** Null where the field is missing, empty or `0`, as IEEE 488.2 (10.14) writes "not available". */
  serialNumber: string | null;
  firmware: string | null;
}

const known = (field: string | undefined): string | null => {
  const bare = field?.trim() ?? "";
  return bare === "" || bare === "0" ? null : bare;
};

/**
 * Reads the answer to `*IDN?`: four fields between commas; fewer are taken as they come, and commas past the third belong
 * to the firmware. Undefined where the line is blank, is a bare number (the late answer to another question), or has
 * control characters in it.
 */
export function parseIdentity(line: string): Identity | undefined {
  const text = line.trim();
  // biome-ignore lint/suspicious/noControlCharactersInRegex: bytes from a wire are what is looked at
  if (text === "" || /[\u0000-\u001f\u007f]/.test(text)) return undefined;
  if (/^[+-]?[\d.]+(?:[eE][+-]?\d+)?$/.test(text)) return undefined;
  const fields = text.split(",");
  return {
    raw: text,
    maker: fields[0]?.trim() ?? "",
    model: fields[1]?.trim() ?? "",
    serialNumber: known(fields[2]),
    firmware: known(fields.slice(3).join(",")),
  };
}
