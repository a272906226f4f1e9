import { InvalidArgumentError } from "commander";

/** An address as people write it, "00:01.0" for "0000:00:01.0"; throws what the command line shows. */
export function parsePciAddress(text: string): string {
  const short = /^[0-9a-f]{2}:[0-9a-f]{2}\.[0-7]$/i.test(text) ? `0000:${text}` : text;
  if (/^[0-9a-f]{4,8}:[0-9a-f]{2}:[0-9a-f]{2}\.[0-7]$/i.test(short)) return short.toLowerCase();
  throw new InvalidArgumentError("It should be an address such as 0000:00:01.0 or 00:01.0.");
}
