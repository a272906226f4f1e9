import { html, nothing, type TemplateResult } from "lit";
import { numberIn } from "../../shared/number-in.ts";
import type { TaskWish, WireBench, WireBoard } from "../../shared/wire.ts";

export type TaskName = TaskWish["task"] | "power-up";

const TASKS: [task: TaskName, says: string][] = [
  ["power-up", "First power-up"],
  ["soak", "Soak: on under watch for a long time"],
  ["margin", "Margin: a feed's voltage stepped within its tolerance"],
  ["cycle", "Cycle: started again and again"],
  ["inject", "Injection: hunt a short by its heat"],
];
const SIDES: [side: string, says: string][] = [
  ["", "not stated"],
  ["after", "after its inductor, the chip's side"],
  ["before", "before its inductor, the converter's side"],
  ["none", "there is no inductor"],
];

const field = (name: string, label: string, placeholder: string) => html`<label class="row"
  ><span class="label">${label}</span><input type="text" class="short" name=${name} inputmode="decimal" placeholder=${placeholder} autocomplete="off"
/></label>`;

const choice = (name: string, label: string, choices: readonly (readonly [string, string])[]) => html`<label class="row"
  ><span class="label">${label}</span><select name=${name}>${choices.map(([value, says]) => html`<option value=${value}>${says}</option>`)}</select></label
>`;

/** What kind of run it is, and what each kind is asked beside the facts. */
export function taskFields(
  task: TaskName,
  { bench, board }: { bench: WireBench | null; board: WireBoard | null },
  onPick: (task: TaskName) => void,
): TemplateResult {
  const feeds = (bench?.feeds ?? []).map(({ feed }) => [feed, feed] as const);
  const rails = (board?.tree ?? []).flatMap(({ name, kind }) => (kind === "signal" ? [] : [[name, name] as const]));
  return html`<fieldset>
    <legend>What is done</legend>
    <select name="task" aria-label="What is done" .value=${task} @change=${(event: Event) => onPick((event.target as HTMLSelectElement).value as TaskName)}>
      ${TASKS.map(([value, says]) => html`<option value=${value}>${says}</option>`)}
    </select>
    ${task === "soak" ? field("minutes", "Held for, minutes", "30") : nothing}
    ${
      task === "margin"
        ? html`${choice("marginFeed", "Feed", [["", "the one with the highest limit"], ...feeds])} ${field("steps", "Set-points, 3 to 11", "5")}`
        : nothing
    }
    ${
      task === "cycle"
        ? html`${field("cold", "Cold starts", "1")} ${field("warm", "Warm starts", "5")} ${field("coldOff", "Off before a cold one, seconds", "120")} ${field("warmOff", "Off before a warm one, seconds", "3")} ${field("forMinutes", "Again and again for, minutes", "once through")}`
        : nothing
    }
    ${
      task === "inject"
        ? html`${choice("rail", "Rail that the leads are on", rails)} ${choice("injectFeed", "Feed that is used", feeds)} ${choice("side", "Side of the rail's inductor", SIDES)}
            ${field("cap", "Cap, volts; can only be lowered", "the rail's own")} ${field("hold", "A level lasts, seconds, 10 to 20", "15")}
            <label class="check"><input type="checkbox" name="alcohol" />Alcohol is on the board: 1 V at most</label>`
        : nothing
    }
  </fieldset>`;
}

/** What the fields ask for; null is a first power-up, a text is why they cannot be read. */
export function taskIn(data: FormData): TaskWish | string | null {
  const text = (name: string): string => String(data.get(name) ?? "").trim();
  const wrong: string[] = [];
  const number = (name: string, label: string, [least, most]: [number, number]): number | undefined => {
    if (text(name) === "") return undefined;
    const value = numberIn(text(name));
    if (value !== null && value >= least && value <= most) return value;
    wrong.push(`${label} is "${text(name)}"; it should be ${least} to ${most}`);
    return undefined;
  };
  const wish = ((): TaskWish | null => {
    switch (text("task")) {
      case "soak":
        return { task: "soak", minutes: number("minutes", "Held for", [0.05, 1440]) ?? 30 };
      case "margin":
        return {
          task: "margin",
          ...given("feed", text("marginFeed") || undefined),
          ...given("steps", number("steps", "Set-points", [3, 11])),
        };
      case "cycle": {
        const forMinutes = number("forMinutes", "Again and again for", [0.1, 7 * 1440]);
        return {
          task: "cycle",
          cold: number("cold", "Cold starts", [0, 10_000]) ?? 1,
          warm: number("warm", "Warm starts", [0, 10_000]) ?? 5,
          ...given("coldOff", number("coldOff", "Off before a cold one", [1, 86_400])),
          ...given("warmOff", number("warmOff", "Off before a warm one", [1, 86_400])),
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
          ...given("capVolts", number("cap", "Cap", [0.05, 3])),
          ...given("levelSeconds", number("hold", "A level lasts", [10, 20])),
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
