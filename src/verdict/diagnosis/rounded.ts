/** A figure for a document, without the digits that mean nothing. */
export const rounded = (value: number, digits: number): number => Number(value.toFixed(digits));
