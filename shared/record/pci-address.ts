const SHORT = /^[0-9a-f]{2}:[0-9a-f]{2}\.[0-7]$/i;
const WHOLE = /^[0-9a-f]{4,8}:[0-9a-f]{2}:[0-9a-f]{2}\.[0-7]$/i;

/** A PCI address as people write it ("00:01.0", "0000:00:01.0") in the form that Linux uses; null for what is none. */
export function pciAddressIn(text: string): string | null {
  const whole = SHORT.test(text) ? `0000:${text}` : text;
  return WHOLE.test(whole) ? whole.toLowerCase() : null;
}
