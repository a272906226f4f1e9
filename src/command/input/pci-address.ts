import { InvalidArgumentError } from "commander";
import { pciAddressIn } from "../../../shared/record/pci-address.ts";

/** An address as people write it, "00:01.0" for "0000:00:01.0"; throws what the command line shows. */
export function parsePciAddress(text: string): string {
  const address = pciAddressIn(text);
  if (address !== null) return address;
  throw new InvalidArgumentError("It should be an address such as 0000:00:01.0 or 00:01.0.");
}
