import type { BoardKnowledge } from "../../../shared/files/board-knowledge.ts";

/** The entries of an archive of a board that are no photographs. */
export const KNOWLEDGE = "knowledge.json";
export const BOARD = "board.json";

/** The text of the first entry; the same knowledge always gives the same text. */
export const knowledgeText = (knowledge: BoardKnowledge): string => `${JSON.stringify(knowledge, null, 1)}\n`;
