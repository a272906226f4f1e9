import type { Remembered } from "../../../shared/files/remembered.ts";
import { shortId } from "../../job/store/uuid-v7.ts";
import type { RememberedName } from "./remembered-names.ts";

/** One remembered value as a person reads it: a job by its short id. */
export const rememberedValue = (name: RememberedName, remembered: Remembered): string => {
  const value = remembered[name] ?? "";
  return name === "job" ? shortId(value) : value;
};
