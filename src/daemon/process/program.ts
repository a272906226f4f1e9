/** Name and version as they are filed with each run. */
export const PROGRAM = "firstamp 0.1.0";
