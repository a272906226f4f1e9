import type { DrawTrace } from "../../shared/draw-input.ts";
import { captureCsvParts } from "../../src/capture/csv-capture.ts";

/** A capture as one text of CSV. */
export const wholeCsv = (traces: readonly DrawTrace[]): string => [...captureCsvParts(traces)].join("");
