/** Everything in which the links of the operating systems differ. No other file of the links asks which system it is. */
export interface LinkPlatform {
  /** The path of the serial port with this number, from 1 on, as VISA counts them. */
  portPath(number: number): string;
  /** The option of stty that names the port; null: there is no stty. */
  sttyFile: "-F" | "-f" | null;
  /** Whether serial ports are listed by udevadm. */
  listsByUdev: boolean;
  /** Whether the serial library's own poller tells of a hang-up. */
  tellsOfHangUp: boolean;
  /** Whether bytes may go straight to the port's descriptor. */
  writesToDescriptor: boolean;
}

const UNIX: LinkPlatform = {
  portPath: (number) => `/dev/ttyS${number - 1}`,
  sttyFile: "-f",
  listsByUdev: false,
  tellsOfHangUp: false,
  writesToDescriptor: true,
};

const PLATFORMS: Partial<Record<string, LinkPlatform>> = {
  linux: { ...UNIX, sttyFile: "-F", listsByUdev: true, tellsOfHangUp: true },
  win32: { ...UNIX, portPath: (number) => `COM${number}`, sttyFile: null, writesToDescriptor: false },
};

/** The differences of links between systems, by Node's name for it; any other is taken for a plain Unix. */
export const linkPlatformOf = (name: string = process.platform): LinkPlatform => PLATFORMS[name] ?? UNIX;

/** The system this process runs on. */
export const thisLinkPlatform: LinkPlatform = linkPlatformOf();
