import type { RunHeader } from "../../../shared/run-record.ts";
import { drawBaselineOf } from "../../analysis/draw-baseline.ts";
import type { JobStore } from "../store/job-store.ts";
import { readShopSettings } from "../store/shop-settings.ts";
import { goodCaptures, surroundingsOf } from "./good-captures.ts";

/**
 * The header of a run with what the record knows beforehand: where good boards of this kind drew, and the shop's own numbers. It is
 * part of the header so that the verdict can be come to again whatever is filed later. Throws `bad-input` for shop settings that are
 * not what they should be.
 */
export async function withRecordKnowledge(store: JobStore, header: RunHeader): Promise<RunHeader> {
  const settings = await readShopSettings(store.dir);
  // The address of the shop's record has no part in a verdict, and may hold a password.
  const { shared: _, ...shop } = settings ?? { version: 1 as const };
  const { feeds, ...own } = surroundingsOf(header);
  const captures = header.board === null ? [] : await goodCaptures(store, header.board.name, feeds);
  return {
    ...header,
    ...(captures.length === 0 ? {} : { baseline: drawBaselineOf(captures, own, feeds) }),
    ...(settings === null ? {} : { shop }),
  };
}
