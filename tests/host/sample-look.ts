/** A device as a host look lists it: an invented card, with a link of eight lanes and no errors. */
export const sampleDevice = (address: string, changes: object = {}) => ({
  address,
  vendor: "1234",
  device: "1111",
  class: "030000",
  subsystemVendor: null,
  subsystemDevice: null,
  driver: "demo",
  link: { speedGt: 8, width: 8, maxSpeedGt: 8, maxWidth: 8 },
  aer: { correctable: 0, nonfatal: 0, fatal: 0 },
  ...changes,
});

/** The document of a host look that lists these devices. */
export const sampleLook = (lookedAt: string, devices: object[]): object => ({
  ...{ format: "firstamp-host-look", version: 1, lookedAt, source: "sysfs", kernel: null, rescanned: false },
  ...{ notes: [], devices },
});
