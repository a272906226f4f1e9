/**
 * Whether `written` is the short or the long form of `mnemonic`, any case. The mnemonic is spelled as in SCPI-1999
 * vol. 1, 6.2.1: capitals are the short form (`VOLTage`). Nothing between the two forms matches: `VOLTA` is none.
 */
export function matchesMnemonic(mnemonic: string, written: string): boolean {
  const asked = written.toUpperCase();
  return asked === mnemonic.toUpperCase() || asked === mnemonic.replace(/[a-z]+/g, "");
}

/**
 * A mnemonic with its numeric suffix taken apart: `OUTP2` is `OUTP` and 2; a suffix of 1 may be left out, so `OUTP` is
 * `OUTP` and 1 (SCPI-1999 vol. 1, 6.2.5.2).
 */
export function splitSuffix(written: string): { mnemonic: string; suffix: number } {
  const parts = /^(.*?)(\d*)$/.exec(written);
  return { mnemonic: parts?.[1] ?? written, suffix: parts?.[2] ? Number(parts[2]) : 1 };
}
