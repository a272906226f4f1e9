import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { WireBoard } from "../../../shared/wire-board.ts";

/**
 * The board as the page shows it, with the points its cold checks are taken at: each feed, each pair, then the rails, with
 * the ohms that the board file calls healthy.
 */
export function wireBoard(board: BoardFile | null): WireBoard {
  if (board === null) {
    return {
      name: "unknown board",
      isDefault: true,
      notes: ["No board file: limits and bands are the built-in defaults, which are weak on purpose."],
      cold: [],
      tree: [],
      photos: [],
    };
  }
  return {
    name: board.name,
    isDefault: false,
    notes: [],
    cold: [
      ...Object.entries(board.feeds).map(([point, feed]) => ({
        point,
        where: null,
        least: feed.coldOhmsMin ?? null,
        most: null,
      })),
      ...Object.entries(board.coldPairs).map(([point, least]) => ({ point, where: null, least, most: null })),
      ...Object.entries(board.rails).flatMap(([point, rail]) =>
        rail.signal === true || rail.coldOhms === undefined
          ? []
          : [{ point, where: rail.point ?? null, least: rail.coldOhms[0], most: rail.coldOhms[1] }],
      ),
    ],
    tree: [
      ...Object.entries(board.feeds).map(([name, { nominalVolts }]) => ({
        name,
        kind: "feed" as const,
        volts: nominalVolts,
        needs: [],
      })),
      ...Object.entries(board.rails).map(([name, { volts, signal, needs }]) => ({
        name,
        kind: signal === true ? ("signal" as const) : ("rail" as const),
        volts,
        needs,
      })),
    ],
    ...(board.states === undefined ? {} : { states: Object.values(board.states).map(({ after }) => after) }),
    ...(board.groups === undefined || Object.keys(board.groups).length === 0 ? {} : { groups: board.groups }),
    ...(board.across === undefined || Object.keys(board.across).length === 0
      ? {}
      : { across: [...new Set(Object.values(board.across).map(({ rail }) => rail))] }),
    photos: (board.photos ?? []).map(({ caption, points }) => ({ caption: caption ?? null, points })),
  };
}
