import type { RunConditions } from "../../../shared/permit.ts";
import type { RunRequest, Statement } from "../../../shared/wire-request.ts";
import { numberIn } from "../../../shared/words/number-in.ts";
import { say } from "../../words/shell.ts";

export const STATEMENTS: Statement[] = ["polarityChecked", "commonReturn", "sidebandStrapped", "pairsUnplugged"];

const SURROUNDINGS = {
  host: ["unknown", "none", "pulled-up", "attached"],
  fans: ["unknown", "on", "off"],
  cooler: ["unknown", "bare", "block", "cooler"],
} as const satisfies { [Key in "host" | "fans" | "cooler"]: readonly RunConditions[Key][] };

/** The surroundings of the board: each with its name and its choices, in the page's language. */
export const surroundings = (): {
  key: keyof typeof SURROUNDINGS;
  label: string;
  choices: [value: string, text: string][];
}[] => [
  {
    key: "host",
    label: say("start.host"),
    choices: SURROUNDINGS.host.map((each) => [each, say(`start.host.${each}`)]),
  },
  {
    key: "fans",
    label: say("start.fans"),
    choices: SURROUNDINGS.fans.map((each) => [each, say(`start.fans.${each}`)]),
  },
  {
    key: "cooler",
    label: say("start.cooler"),
    choices: SURROUNDINGS.cooler.map((each) => [each, say(`start.cooler.${each}`)]),
  },
];

/** The values in the fields of the facts. */
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
