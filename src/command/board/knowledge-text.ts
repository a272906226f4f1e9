import type { BoardKnowledge, DrawKnowledge } from "../../../shared/files/board-knowledge.ts";
import { sayAmount, sayAmps } from "../../../shared/words/amounts.ts";
import { counted } from "../../../shared/words/counted.ts";
import { visibleLine } from "../../job/report/visible-text.ts";

const UNITS = { volts: "V", ohms: "Ω", diodeVolts: "V" } as const;
const MOST_POINTS = 40;

/** The content of an archive of a board, a line each, for a person to look at before it is taken in. */
export function knowledgeLines({ kind, shop, draws, points, files }: BoardKnowledge): string[] {
  const photos = files.filter(({ name }) => name !== "board.json").length;
  const shown = points.slice(0, MOST_POINTS);
  return [
    `What ${shop} knows of boards of kind ${JSON.stringify(visibleLine(kind))}:`,
    `  ${files.length > photos ? "a board file" : "no board file"}, ${counted(photos, "photograph")}`,
    ...draws.map(drawLine),
    ...shown.map(({ point, quantity, boards, mean, stdDev, least, most }) => {
      const say = (value: number) => sayAmount(value, UNITS[quantity]);
      const spread = stdDev === null ? "" : ` ± ${say(stdDev)}`;
      const what = quantity === "diodeVolts" ? " in diode mode" : "";
      return `  ${visibleLine(point)}: ${say(mean)}${spread}${what}, ${say(least)} to ${say(most)} (${counted(boards, "board")})`;
    }),
    ...(points.length > shown.length ? [`  and ${counted(points.length - shown.length, "more point")}`] : []),
  ];
}

function drawLine({ feeds, supply, fans, host, boards, captures, meanAmps, betweenAmps }: DrawKnowledge): string {
  const spread = betweenAmps === null ? "" : ` ± ${sayAmps(betweenAmps)}`;
  const under = visibleLine(`${feeds.join(", ")} on; fans ${fans}, host ${host}; ${supply}`);
  return `  good boards draw ${sayAmps(meanAmps)}${spread} (${counted(boards, "board")}, ${counted(captures, "capture")}; ${under})`;
}
