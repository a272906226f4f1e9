import { html, nothing, type TemplateResult } from "lit";
import type { WireBench } from "../../../shared/wire.ts";
import type { WireBoard } from "../../../shared/wire-board.ts";
import type { TaskWish } from "../../../shared/wire-request.ts";
import { numberIn } from "../../../shared/words/number-in.ts";
import { say } from "../../words/shell.ts";

export type TaskName = TaskWish["task"] | "power-up";

const TASKS: readonly TaskName[] = ["power-up", "soak", "margin", "cycle", "inject"];
const SIDES = ["", "after", "before", "none"] as const;

const field = (name: string, label: string, placeholder: string) => html`<label class="row"
  ><span class="label">${label}</span><input type="text" class="short" name=${name} inputmode="decimal" placeholder=${placeholder} autocomplete="off"
/></label>`;

const choice = (name: string, label: string, choices: readonly (readonly [string, string])[]) => html`<label class="row"
  ><span class="label">${label}</span><select name=${name}>${choices.map(([value, says]) => html`<option value=${value}>${says}</option>`)}</select></label
>`;

/** The kind of run, and the questions of each kind beside the facts. */
export function taskFields(
  task: TaskName,
  { bench, board }: { bench: WireBench | null; board: WireBoard | null },
  onPick: (task: TaskName) => void,
): TemplateResult {
  const feeds = (bench?.feeds ?? []).map(({ feed }) => [feed, feed] as const);
  const rails = (board?.tree ?? []).flatMap(({ name, kind }) => (kind === "signal" ? [] : [[name, name] as const]));
  const ownRails = (board?.tree ?? []).flatMap(({ name, kind }) => (kind === "rail" ? [[name, name] as const] : []));
  return html`<fieldset>
    <legend>${say("task.what")}</legend>
    <select name="task" aria-label=${say("task.what")} .value=${task} @change=${(event: Event) => onPick((event.target as HTMLSelectElement).value as TaskName)}>
      ${TASKS.map((each) => html`<option value=${each}>${say(`task.${each}`)}</option>`)}
    </select>
    ${task === "soak" ? field("minutes", say("task.minutes"), "30") : nothing}
    ${
      task === "margin"
        ? html`${choice("marginFeed", say("start.feed"), [["", say("task.highest")], ...feeds])} ${field("steps", say("task.steps"), "5")}
            ${ownRails.length === 0 ? html`<p class="small">${say("task.no-rails")}</p>` : choice("marginRail", say("task.margin-rail"), [["", say("task.no-rail")], ...ownRails])}`
        : nothing
    }
    ${
      task === "cycle"
        ? html`${field("cold", say("task.cold"), "1")} ${field("warm", say("task.warm"), "5")} ${field("coldOff", say("task.cold-off"), "120")} ${field("warmOff", say("task.warm-off"), "3")} ${field("forMinutes", say("task.for"), say("task.once"))}
            <label><span class="label">${say("task.host-look")}</span><input type="text" name="hostLook" maxlength="1000" placeholder=${say("task.host-look.such")} autocomplete="off" spellcheck="false"
            /></label>
            <label class="row"><span class="label">${say("task.port")}</span><input type="text" class="short" name="port" placeholder="00:01.0" autocomplete="off" spellcheck="false" /></label>
            <p class="small soft">${say("task.host-look.how")}</p>`
        : nothing
    }
    ${
      task === "inject"
        ? html`${choice("rail", say("task.rail"), rails)} ${choice("injectFeed", say("task.feed"), feeds)} ${choice(
            "side",
            say("task.side"),
            SIDES.map((each) => [each, say(`task.side.${each === "" ? "unknown" : each}`)] as const),
          )}
            ${field("cap", say("task.cap"), say("task.cap.own"))} ${field("hold", say("task.level"), "15")}
            <label class="check"><input type="checkbox" name="alcohol" />${say("task.alcohol")}</label>`
        : nothing
    }
  </fieldset>`;
}

/** The wishes in the fields; null is a first power-up, a text is why they cannot be read. */
export function taskIn(data: FormData): TaskWish | string | null {
  const text = (name: string): string => String(data.get(name) ?? "").trim();
  const wrong: string[] = [];
  const number = (name: string, label: string, [least, most]: [number, number]): number | undefined => {
    if (text(name) === "") return undefined;
    const value = numberIn(text(name));
    if (value !== null && value >= least && value <= most) return value;
    wrong.push(say("task.wrong", { label: label.replace(/[,;].*/, ""), text: text(name), least, most }));
    return undefined;
  };
  const wish = ((): TaskWish | null => {
    switch (text("task")) {
      case "soak":
        return { task: "soak", minutes: number("minutes", say("task.minutes"), [0.05, 1440]) ?? 30 };
      case "margin":
        return {
          task: "margin",
          ...given("feed", text("marginFeed") || undefined),
          ...given("rail", text("marginRail") || undefined),
          ...given("steps", number("steps", say("task.steps"), [3, 11])),
        };
      case "cycle": {
        const forMinutes = number("forMinutes", say("task.for"), [0.1, 7 * 1440]);
        return {
          task: "cycle",
          cold: number("cold", say("task.cold"), [0, 10_000]) ?? 1,
          warm: number("warm", say("task.warm"), [0, 10_000]) ?? 5,
          ...given("coldOff", number("coldOff", say("task.cold-off"), [1, 86_400])),
          ...given("warmOff", number("warmOff", say("task.warm-off"), [1, 86_400])),
          ...given("hostLook", text("hostLook") || undefined),
          ...given("port", text("port") || undefined),
          ...given("forSeconds", forMinutes === undefined ? undefined : forMinutes * 60),
        };
      }
      case "inject": {
        const side = text("side");
        return {
          task: "inject",
          rail: text("rail"),
          feed: text("injectFeed"),
          side: side === "after" || side === "before" || side === "none" ? side : null,
          ...given("capVolts", number("cap", say("task.cap"), [0.05, 3])),
          ...given("levelSeconds", number("hold", say("task.level"), [10, 20])),
          ...(data.get("alcohol") === null ? {} : { alcohol: true }),
        };
      }
      default:
        return null;
    }
  })();
  return wrong.length > 0 ? `${wrong.join("; ")}.` : wish;
}

/** One member, or none where there is no value. */
const given = <Key extends string, Value>(key: Key, value: Value | undefined): { [each in Key]?: Value } =>
  value === undefined ? {} : ({ [key]: value } as { [each in Key]: Value });
