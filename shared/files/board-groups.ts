import { z } from "zod";

/** Letters, digits and a few signs, as every name in a board file. */
const name = z.string().regex(/^[A-Za-z0-9][A-Za-z0-9_.-]{0,31}$/, "a name: letters, digits, _ . or -");

/** A group with more points is no row of lanes that one hand goes through. */
const MOST_POINTS = 256;

/** Points that should read alike, in the order the probe goes. They have no nominal value: they are held against each other. */
export const BoardGroup = z.array(name).min(2).max(MOST_POINTS);
export type BoardGroup = z.infer<typeof BoardGroup>;

/** A part of known ohms that a rail's current goes through: a shunt, a fuse, an inductor. */
export const BoardPart = z.strictObject({
  /** The rail whose current it is. Several parts of one rail carry it together, as phases do. */
  rail: name,
  /** Its resistance at `celsius`, ohms. */
  ohms: z.number().positive().max(1000),
  /** The difference that is allowed, as a share; 0.1 where it is not said. */
  tolerance: z.number().min(0).max(1).optional(),
  /** True: copper, as an inductor or a trace; its resistance grows by 0.39 % a kelvin. */
  copper: z.boolean().optional(),
  /** Temperature that `ohms` is for; 20 where it is not said. */
  celsius: z.number().min(-40).max(150).optional(),
  /** The places of the two probes, in words: red on the side the current comes from. */
  point: z.string().max(200).optional(),
});
export type BoardPart = z.infer<typeof BoardPart>;

/** The parts of a board file that groups and parts are held against. */
interface Named {
  feeds: Record<string, unknown>;
  rails: Record<string, unknown>;
  groups: Record<string, BoardGroup>;
  across: Record<string, BoardPart>;
}

/** The mistakes among groups and parts, each with its place in the board file. */
export function groupProblems({ feeds, rails, groups, across }: Named): { path: (string | number)[]; says: string }[] {
  const found: { path: (string | number)[]; says: string }[] = [];
  const isNamed = (point: string): boolean => Object.hasOwn(feeds, point) || Object.hasOwn(rails, point);
  for (const [group, points] of Object.entries(groups)) {
    points.forEach((point, index) => {
      const path = ["groups", group, index];
      const quoted = JSON.stringify(point);
      if (points.indexOf(point) < index)
        found.push({ path, says: `is ${quoted} again; a group names each point once` });
      // A rail's own ohms and volts decide whether the board is powered; a point of a group decides nothing alone.
      if (isNamed(point))
        found.push({ path, says: `is ${quoted}, which is a feed or a rail; it should be a new name` });
    });
  }
  for (const [part, { rail }] of Object.entries(across)) {
    if (isNamed(part))
      found.push({ path: ["across", part], says: "has the name of a feed or a rail; it should be a new name" });
    if (!isNamed(rail)) {
      const says = `names ${JSON.stringify(rail)}, which is neither a feed nor a rail of this board`;
      found.push({ path: ["across", part, "rail"], says });
    }
  }
  return found;
}
