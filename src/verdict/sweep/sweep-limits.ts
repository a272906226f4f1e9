import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { FaultData } from "../../../shared/files/fault-data.ts";
import type { SweepLimits, SweepQuantity } from "../../../shared/sweep.ts";
import { coldLimitsOf } from "../diagnosis/cold-limits.ts";
import { boardModel } from "../diagnosis/model.ts";
import { voltsLimits } from "../diagnosis/reading-state.ts";

const UNKNOWN: SweepLimits = { expected: null, low: null, high: null, shortBelow: null, isDefault: true };

/**
 * The good value of each point of a board: volts by its tolerance (±8 %, signals ±30 % where the board file gives
 * none), ohms by its cold span, pairs by their least ohms, diode volts by their span. The short of a rail is its own: a big
 * core at 0.2 Ω is none.
 */
export function sweepLimits(
  board: BoardFile,
  data: FaultData,
): (point: string, quantity: SweepQuantity) => SweepLimits {
  const { tree, roles } = boardModel(board, data);
  return (point, quantity) => {
    const rail = board.rails[point];
    switch (quantity) {
      case "volts": {
        if (rail === undefined) return UNKNOWN;
        const { low, high } = voltsLimits(rail);
        return {
          expected: rail.volts,
          low: Number.isFinite(low) ? even(low) : null,
          high: even(high),
          shortBelow: null,
          isDefault: rail.tolerance === undefined,
        };
      }
      case "ohms": {
        const limits = coldLimitsOf(point, tree, roles, data);
        if (limits === null) return UNKNOWN;
        const { low, high, shortBelow, isDefault } = limits;
        const isOpenEnded = !Number.isFinite(high);
        return {
          expected: isOpenEnded ? null : Math.sqrt(low * high),
          low,
          high: isOpenEnded ? null : high,
          shortBelow,
          isDefault,
        };
      }
      case "diode": {
        const span = rail?.diodeVolts;
        if (span === undefined) return UNKNOWN;
        return { expected: (span[0] + span[1]) / 2, low: span[0], high: span[1], shortBelow: null, isDefault: false };
      }
    }
  };
}

/** 12 V + 5 % is 12.6 V, not 12.600000000000001 V. */
const even = (volts: number): number => Number(volts.toPrecision(12));
