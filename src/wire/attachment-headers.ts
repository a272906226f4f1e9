/** Kinds that a browser shows without running anything; all others go out as bytes. */
const SHOWN = new Set(["image/png", "image/jpeg", "image/webp", "application/pdf", "text/plain"]);

/**
 * The headers an attachment goes out with. Always as a download and in a sandbox, so that a drawing or page with script
 * in it, opened from the record, is nobody's page; the name is reduced to letters, digits, space, dot, _ and -.
 */
export function attachmentHeaders(attachment: { name: string; mediaType: string }): Record<string, string> {
  const name =
    attachment.name
      .replace(/[^A-Za-z0-9 ._-]/g, "_")
      .replace(/^[. ]+/, "")
      .slice(0, 120) || "attachment";
  return {
    "content-type": SHOWN.has(attachment.mediaType) ? attachment.mediaType : "application/octet-stream",
    "content-disposition": `attachment; filename="${name}"`,
    "content-security-policy": "default-src 'none'; sandbox",
  };
}
