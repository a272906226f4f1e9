import { at } from "./at.ts";

/** Fourier transform in place, radix 2; the length must be a power of two. `inverse` is not divided by the length. */
export function fourier(real: Float64Array, imaginary: Float64Array, inverse: boolean): void {
  const n = real.length;
  for (let i = 1, j = 0; i < n; i++) {
    let bit = n >> 1;
    for (; j & bit; bit >>= 1) j ^= bit;
    j ^= bit;
    if (i < j) {
      const [re, im] = [at(real, i), at(imaginary, i)];
      real[i] = at(real, j);
      imaginary[i] = at(imaginary, j);
      real[j] = re;
      imaginary[j] = im;
    }
  }
  for (let size = 2; size <= n; size <<= 1) {
    const half = size >> 1;
    const angle = ((inverse ? 2 : -2) * Math.PI) / size;
    for (let k = 0; k < half; k++) {
      const [cos, sin] = [Math.cos(angle * k), Math.sin(angle * k)];
      for (let start = k; start < n; start += size) {
        const far = start + half;
        const re = at(real, far) * cos - at(imaginary, far) * sin;
        const im = at(real, far) * sin + at(imaginary, far) * cos;
        real[far] = at(real, start) - re;
        imaginary[far] = at(imaginary, start) - im;
        real[start] = at(real, start) + re;
        imaginary[start] = at(imaginary, start) + im;
      }
    }
  }
}
