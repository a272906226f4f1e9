import type { BenchFile } from "../../shared/files/bench-file.ts";
import { FoundLink, SetupFinding, SetupView } from "../../shared/files/setup.ts";
import { messageOf } from "../../shared/words/message-of.ts";
import { askDaemon, postJson } from "../page/session.ts";

/** The outcome of a step; `there`: a bench file is at that place already. */
export type Done<Value> = { ok: true; value: Value } | { ok: false; because: string; there: boolean };

/** The page's way to the first set-up; what comes is checked by schema. */
export const setupClient = {
  view: (): Promise<Done<SetupView>> => step(askDaemon("/api/setup"), (document) => SetupView.parse(document)),
  look: (address: string): Promise<Done<FoundLink>> =>
    step(postJson("/api/setup/look", { address }), ({ found }) => FoundLink.parse(found)),
  write: (file: string, bench: BenchFile, replace: boolean): Promise<Done<string>> =>
    step(postJson("/api/setup/file", { file, bench, replace }), (document) => String(document["file"])),
  check: (file: string): Promise<Done<SetupFinding[]>> =>
    step(postJson("/api/setup/check", { file }), ({ findings }) => SetupFinding.array().parse(findings)),
  use: (file: string): Promise<Done<null>> => step(postJson("/api/setup/use", { file }), () => null),
  rehearse: (scenario: string): Promise<Done<null>> => step(postJson("/api/setup/rehearse", { scenario }), () => null),
  endRehearsal: (): Promise<Done<null>> => step(postJson("/api/setup/end-rehearsal", {}), () => null),
  probe: (point: string | null): Promise<Done<null>> => step(postJson("/api/setup/probe", { point }), () => null),
};

async function step<Value>(
  asking: Promise<Response>,
  read: (document: Record<string, unknown>) => Value,
): Promise<Done<Value>> {
  try {
    const reply = await asking;
    const document = (await reply.json()) as Record<string, unknown>;
    if (reply.ok) return { ok: true, value: read(document) };
    const { error, there } = document;
    return { ok: false, because: typeof error === "string" ? error : `${reply.status}`, there: there !== undefined };
  } catch (cause) {
    return { ok: false, because: messageOf(cause), there: false };
  }
}
