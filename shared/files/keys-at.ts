import type { z } from "zod";

/**
 * The keys that a schema knows at a path into its document, such as ["instruments", "psu"]; those of every branch where
 * it has branches, and none where the path leads nowhere.
 */
export function keysAt(schema: z.core.$ZodType, path: readonly PropertyKey[]): string[] {
  const { def } = (schema as z.core.$ZodTypes)._zod;
  const [step, ...rest] = path;
  switch (def.type) {
    case "object": {
      if (step === undefined) return Object.keys(def.shape);
      const next = Object.hasOwn(def.shape, step) ? def.shape[String(step)] : undefined;
      return next === undefined ? [] : keysAt(next, rest);
    }
    case "record":
      return step === undefined ? [] : keysAt(def.valueType, rest);
    case "array":
      return step === undefined ? [] : keysAt(def.element, rest);
    case "union":
      return def.options.flatMap((option) => keysAt(option, path));
    case "intersection":
      return [...keysAt(def.left, path), ...keysAt(def.right, path)];
    case "optional":
    case "nullable":
    case "default":
    case "prefault":
    case "readonly":
      return keysAt(def.innerType, path);
    case "pipe":
      return keysAt(def.in, path);
    case "lazy":
      return keysAt(def.getter(), path);
    default:
      return [];
  }
}
