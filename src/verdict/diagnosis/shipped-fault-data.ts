import { FaultData } from "../../../shared/files/fault-data.ts";
import document from "./shipped-faults.json" with { type: "json" };

let parsed: FaultData | undefined;

/** The fault data that comes with the program; checked like any other file the first time it is asked for. */
export const shippedFaultData = (): FaultData => {
  parsed ??= FaultData.parse(document);
  return parsed;
};
