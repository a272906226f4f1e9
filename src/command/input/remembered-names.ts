/** Options that `firstamp use` can remember. Ohms, checks and waivers are not among them: they are about one moment. */
export const REMEMBERED_NAMES = ["bench", "board", "host", "fans", "cooler", "job"] as const;
export type RememberedName = (typeof REMEMBERED_NAMES)[number];
