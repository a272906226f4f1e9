/** More runs in real time than this share done again, because the machine was busy, and a real fault may hide among them. */
const MOST_SHARE = 0.02;

/** How many runs in real time were done again, and whether that is more than 2 in 100. */
export const doneAgainFigures = ({ runs, doneAgain }) => ({
  runs,
  count: doneAgain.length,
  reasons: doneAgain,
  tooMany: doneAgain.length > MOST_SHARE * runs,
});
