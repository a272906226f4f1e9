import { html, nothing } from "lit";
import type { WireBoard } from "../../../shared/wire-board.ts";
import type { SweepHow } from "../../../shared/wire-request.ts";
import { numberIn } from "../../../shared/words/number-in.ts";
import { say } from "../../words/shell.ts";

const LEAST_CELSIUS = -40;
const MOST_CELSIUS = 150;

/** Fields for the volts over parts of known ohms in a powered sweep, and for their temperature; nothing for a board without such parts. */
export const acrossFields = (board: WireBoard | null) =>
  board?.across === undefined
    ? nothing
    : html`<label class="check"><input type="checkbox" name="across" />${say("start.across", { rails: board.across.join(", ") })}</label>
        <label class="row"><span class="label">${say("start.across.celsius")}</span><input type="text" name="partCelsius" inputmode="numeric" class="short" placeholder=${say("start.warmth.unknown")} autocomplete="off" /></label>`;

/** The sweep that these fields ask for; null: the rails only. A text says why they cannot be read. */
export function acrossIn(root: ParentNode): SweepHow | string | null {
  const field = (name: string): HTMLInputElement | null => root.querySelector(`input[name="${name}"]`);
  if (field("across")?.checked !== true) return null;
  const text = field("partCelsius")?.value.trim() ?? "";
  const celsius = text === "" ? null : numberIn(text);
  if (text !== "" && (celsius === null || celsius < LEAST_CELSIUS || celsius > MOST_CELSIUS))
    return `${say("task.wrong", { label: say("start.across.celsius"), text, least: LEAST_CELSIUS, most: MOST_CELSIUS })}.`;
  return { diode: false, fourWire: false, blackAt: "board", across: { celsius } };
}
