/** Fourier transform in place, radix 2; the length must be a power of two. `inverse` is not divided by the length. */
export function fourier(real: Float64Array, imaginary: Float64Array, inverse: boolean): void {
  const n = real.length;
  for (let i = 1, j = 0; i < n; i++) {
    let bit = n >> 1;
    for (; j & bit; bit >>= 1) j ^= bit;
    j ^= bit;
    if (i < j) {
      const [re, im] = [of(real, i), of(imaginary, i)];
      real[i] = of(real, j);
      imaginary[i] = of(imaginary, j);
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
        const re = of(real, far) * cos - of(imaginary, far) * sin;
        const im = of(real, far) * sin + of(imaginary, far) * cos;
        real[far] = of(real, start) - re;
        imaginary[far] = of(imaginary, start) - im;
        real[start] = of(real, start) + re;
        imaginary[start] = of(imaginary, start) + im;
      }
    }
  }
}

const of = (values: Float64Array, index: number): number => values[index] ?? Number.NaN;
