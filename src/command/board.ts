import { Command } from "commander";
import { boardExportCommand } from "./board/board-export.ts";
import { boardForgetCommand } from "./board/board-forget.ts";
import { boardImportCommand } from "./board/board-import.ts";
import { boardListCommand } from "./board/board-list.ts";

/** `firstamp board …`: what shops know of a kind of board, from one to another. Nothing here touches an instrument. */
export function boardCommand(): Command {
  const command = new Command("board")
    .description("what is known of a kind of board: give it to another shop, or import it from one")
    .addHelpText(
      "after",
      `
An archive holds the board file, its photographs and what boards that passed read: means, spreads and counts. It holds no owner,
no serial number and no job. What is taken in is kept apart from one's own readings and counts for less (docs/knowledge.md).

Exit codes: 0 done; 1 failed; 2 bad input, nothing changed.`,
    );
  for (const each of [boardExportCommand, boardImportCommand, boardListCommand, boardForgetCommand])
    command.addCommand(each());
  return command;
}
