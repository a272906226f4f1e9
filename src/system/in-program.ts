import { fileURLToPath } from "node:url";

/**
 * The path of a file of this program, from its path below `src`: "bench/main.js". Built, this module lies in a bundle two
 * folders deep, as it does here, so one step up is `src` in both.
 */
export const inProgram = (path: string): string => fileURLToPath(new URL(`../${path}`, import.meta.url));
