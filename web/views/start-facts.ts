import { numberIn } from "../../shared/number-in.ts";
import type { RunConditions } from "../../shared/permit.ts";
import type { RunRequest, Statement } from "../../shared/wire.ts";

export const STATEMENTS: [key: Statement, text: string][] = [
  ["polarityChecked", "Polarity checked with a meter at the card end"],
  ["commonReturn", "All returns joined"],
  ["sidebandStrapped", "Sense and sideband pins strapped as the board wants"],
  ["pairsUnplugged", "Everything else unplugged from the board"],
];

export const SURROUNDINGS: {
  [Key in "host" | "fans" | "cooler"]: { label: string; choices: [RunConditions[Key], string][] };
} = {
  host: {
    label: "Host",
    choices: [
      ["unknown", "not stated"],
      ["none", "none"],
      ["pulled-up", "none, reset pulled up"],
      ["attached", "attached"],
    ],
  },
  fans: {
    label: "Fans",
    choices: [
      ["unknown", "not stated"],
      ["on", "on"],
      ["off", "off"],
    ],
  },
  cooler: {
    label: "Cooler",
    choices: [
      ["unknown", "not stated: as bare"],
      ["bare", "bare"],
      ["block", "block"],
      ["cooler", "cooler"],
    ],
  },
};

/** What the fields of the facts say. */
export function factsIn(data: FormData): Pick<RunRequest, "conditions" | "watchSeconds" | "keepOn" | "boardCelsius"> {
  const said = (key: Statement): true | null => (data.get(key) === null ? null : true);
  const within = (name: string, least: number, most: number): number | null => {
    const value = numberIn(String(data.get(name) ?? ""));
    return value !== null && value >= least && value <= most ? value : null;
  };
  return {
    conditions: {
      host: data.get("host") as RunConditions["host"],
      fans: data.get("fans") as RunConditions["fans"],
      cooler: data.get("cooler") as RunConditions["cooler"],
      polarityChecked: said("polarityChecked"),
      commonReturn: said("commonReturn"),
      sidebandStrapped: said("sidebandStrapped"),
      pairsUnplugged: said("pairsUnplugged"),
    },
    watchSeconds: within("watch", 1, 600),
    keepOn: data.get("keepOn") !== null,
    boardCelsius: within("celsius", -40, 150),
  };
}
