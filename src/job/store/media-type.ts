const SIGNATURES: readonly [mediaType: string, at: number, bytes: string][] = [
  ["image/png", 0, "\x89PNG\r\n\x1a\n"],
  ["image/jpeg", 0, "\xff\xd8\xff"],
  ["image/gif", 0, "GIF87a"],
  ["image/gif", 0, "GIF89a"],
  ["image/webp", 8, "WEBP"],
  ["application/pdf", 0, "%PDF-"],
  ["application/zip", 0, "PK\x03\x04"],
];

/**
 * The media type that the first bytes of a file (some thousand) show, never its name: a known signature, "text/plain" for
 * UTF-8 without control characters (so also for HTML, SVG and scripts, which must never be served as such), else
 * "application/octet-stream". Signatures: PNG (ISO/IEC 15948), JPEG (ITU-T T.81), PDF (ISO 32000), the rest from memory.
 */
export function mediaTypeOf(head: Uint8Array): string {
  const bytes = Buffer.from(head.buffer, head.byteOffset, head.byteLength);
  for (const [mediaType, at, signature] of SIGNATURES) {
    const expected = Buffer.from(signature, "latin1");
    if (bytes.subarray(at, at + expected.length).equals(expected)) return mediaType;
  }
  if (bytes.length === 0) return "application/octet-stream";
  try {
    // `stream` lets a character be cut at the end of the head.
    const text = new TextDecoder("utf-8", { fatal: true }).decode(bytes, { stream: true });
    // biome-ignore lint/suspicious/noControlCharactersInRegex: they are what tells text from data
    return /[\u0000-\u0008\u000e-\u001f\u007f]/.test(text) ? "application/octet-stream" : "text/plain";
  } catch {
    return "application/octet-stream";
  }
}
