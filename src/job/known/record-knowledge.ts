import type { RunHeader } from "../../../shared/record/run-record.ts";
import { drawBaselineOf } from "../../analysis/draw-baseline.ts";
import { drawsElsewhere } from "../board/known-elsewhere.ts";
import type { JobStore } from "../store/job-store.ts";
import { readShopSettings } from "../store/shop-settings.ts";
import { goodCaptures, surroundingsOf } from "./good-captures.ts";

/**
 * The header of a run with what the record knows beforehand: where good boards of this kind drew, here and at other shops, and the shop's own numbers. It is
 * part of the header so that the verdict can be come to again whatever is filed later. Throws `bad-input` for shop settings that are
 * not what they should be.
 */
export async function withRecordKnowledge(store: JobStore, header: RunHeader): Promise<RunHeader> {
  const settings = await readShopSettings(store.dir);
  // The address of the shop's record has no part in a verdict, and may hold a password.
  const { shared: _, ...shop } = settings ?? { version: 1 as const };
  const { feeds, ...own } = surroundingsOf(header);
  const captures = header.board === null ? [] : await goodCaptures(store, header.board.name, feeds);
  const elsewhere = header.board === null ? [] : await drawsElsewhere(store.dir, header.board.name, feeds);
  return {
    ...header,
    ...(captures.length + elsewhere.length === 0 ? {} : { baseline: drawBaselineOf(captures, own, feeds, elsewhere) }),
    ...(settings === null ? {} : { shop }),
  };
}
