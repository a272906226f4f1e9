import { openLink } from "../../src/link/open-link.ts";
import { openUsbtmcLink } from "../../src/link/usbtmc-link.ts";
import { ptyFarEnd, socketFarEnd } from "./far-end.ts";
import { linkSuite } from "./link-suite.ts";
import { usbtmcRig } from "./usbtmc-rig.ts";

linkSuite(
  "a serial link",
  async () => {
    const far = await ptyFarEnd();
    return { far, open: (clock) => openLink({ address: far.address, clock }) };
  },
  true,
);

linkSuite(
  "a socket link",
  async () => {
    const far = await socketFarEnd();
    return { far, open: (clock) => openLink({ address: far.address, clock }) };
  },
  true,
);

// No USB instrument is at hand: a pty stands in for the character device, whose reads are not bounded by messages.
linkSuite(
  "a usbtmc link",
  async () => {
    const far = await ptyFarEnd();
    const rig = usbtmcRig();
    rig.add("usbtmc0", { idVendor: "1234", idProduct: "5678", serial: "S1" });
    rig.link("usbtmc0", far.path);
    const close = async () => {
      await far.close();
      rig.close();
    };
    const address = "USB0::0x1234::0x5678::S1::INSTR";
    const { sysRoot, devRoot } = rig;
    return {
      far: { ...far, close },
      open: (clock) =>
        openUsbtmcLink({
          vendor: 0x1234,
          product: 0x5678,
          serialNumber: "S1",
          address,
          clock,
          deadlineMs: 3000,
          sysRoot,
          devRoot,
        }),
    };
  },
  false,
);
