/** A count with its noun: "1 job", "2 jobs". A noun that does not take a plain "s" is given in both forms: `counted(n, "entry", "entries")`. */
export const counted = (count: number, one: string, many = `${one}s`): string => `${count} ${count === 1 ? one : many}`;
