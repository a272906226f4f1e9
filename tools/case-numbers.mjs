/**
 * Numbers of cases by the variables that tests take them from. Without a variable a test does the fewest, so that `npm test` stays short.
 */

/** In CI, which has more time. */
export const CI_NUMBERS = {
  FIRSTAMP_TRIALS: "10",
  FIRSTAMP_INTERLEAVINGS: "4000",
  FIRSTAMP_WHOLE_JOBS: "classes",
  FIRSTAMP_REAL_RUNS: "all",
};

/** In full: `npm run faults` and `npm test -- --full`. */
export const FULL_NUMBERS = {
  /** Seeds of each fault at each moment; without it one moment of each fault. */
  FIRSTAMP_FAULT_SEEDS: "2",
  /** Times that each process is killed, half of them over each link; else 4. */
  FIRSTAMP_TRIALS: "200",
  /** Trips whose time to off is measured; else 40. */
  FIRSTAMP_TRIPS: "2000",
  /** Power-ups beside spinning processes; else 2. */
  FIRSTAMP_NUISANCE: "60",
  /** Changed files; else 350. */
  FIRSTAMP_MUTATIONS: "20000",
  FIRSTAMP_FUZZED_LINES: "1000000",
  FIRSTAMP_FUZZED_MESSAGES: "100000",
  FIRSTAMP_HANG_UPS: "100",
  FIRSTAMP_CLOSED_WRITES: "1000",
  /** Sequences of requests, answers, cuts and late readings, over all seeds; else 2,000. */
  FIRSTAMP_INTERLEAVINGS: "10000",
  /** Scenarios walked as whole jobs; "classes": one of each class, and one that is never powered; else four of them. */
  FIRSTAMP_WHOLE_JOBS: "all",
  /** Power-ups in real time; else one for each dialect on each kind of link. */
  FIRSTAMP_REAL_RUNS: "all",
  /** Kills in a loop of commits; else 20. */
  FIRSTAMP_COMMIT_KILLS: "200",
  /** Of the shop: programs killed, the database killed in its commits, the network cut in each way. */
  FIRSTAMP_KILLS: "1000",
  FIRSTAMP_SERVER_KILLS: "30",
  FIRSTAMP_NETWORK_CUTS: "10",
};
