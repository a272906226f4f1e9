import type { BoardHost } from "../../../shared/files/board-file.ts";
import type { HostChange, HostDevice, HostLook, HostVerdict, HostWord } from "../../../shared/record/host-look.ts";
import { type BoardInLook, boardInLook, idOf } from "./find-board.ts";

export interface HostEvidence {
  look: HostLook;
  /** The changes that a watch saw after the look. */
  changes: readonly HostChange[];
  /** An earlier look of the same host since it was started; null: none. */
  earlier: HostLook | null;
  /** A look with a known good card in the same port; null: none. */
  control: HostLook | null;
  /** The bridge the board is behind, or the address it takes; null: not stated. */
  port: string | null;
  /** The board file's account of a good board; null: nothing. */
  host: BoardHost | null;
}

/** One thing that holds, with its sentences. */
interface Found {
  word: HostWord;
  because: string[];
}

/**
 * The meaning of the host's word for the board. The words are those of Linux's own view of the bus (kernel ABI documents
 * sysfs-bus-pci); what each points to is common practice without a published source. A card that is listed, but slower than it
 * can be, is not called slow by that alone: many lower their link at rest.
 */
export function hostVerdict(evidence: HostEvidence): HostVerdict {
  const place = boardInLook(evidence.look, evidence);
  const control = controlOf(evidence);
  const found = place.device === null ? [absent(evidence, place, control)] : listed(evidence, place, place.device);
  const fell = fellOff(evidence, place);
  if (fell !== null) found.unshift(fell);
  const [first] = found;
  return {
    word: first?.word ?? "cannot-tell",
    also: found.slice(1).map((each) => each.word),
    because: [...found.flatMap((each) => each.because), ...control.because],
    notTried: notTried(evidence, place),
    port: place.port?.address ?? evidence.port,
    device: place.device?.address ?? null,
  };
}

interface Control {
  /** Whether a known good card was listed in the same port; null: none was tried. */
  listed: boolean | null;
  because: string[];
}

function controlOf({ control, port, host }: HostEvidence): Control {
  if (control === null) return { listed: null, because: [] };
  if (port === null)
    return { listed: null, because: ["A control card was filed without its port, so it cannot be compared."] };
  const { device } = boardInLook(control, { port, host });
  return device === null
    ? { listed: false, because: ["The known good card was not listed in this port either."] }
    : { listed: true, because: [`A known good card was listed in this port (${idOf(device)}), so the slot works.`] };
}

function absent({ port, host, look }: HostEvidence, place: BoardInLook, control: Control): Found {
  const bridge = place.port;
  if (port === null && host === null) {
    return {
      word: "cannot-tell",
      because: ["It was not stated which device is the board: give --port, or host.ids in the board file."],
    };
  }
  if (control.listed === false)
    return { word: "cannot-tell", because: ["The fault is in the host or its slot, or the slot is not switched on."] };
  if (bridge === null) {
    const what = host === null ? `No device is at ${port}` : `No device ${host.ids.join(" or ")} is listed`;
    return { word: "not-listed", because: [`${what}; the state of the port's link is not known.`] };
  }
  const said = bridge.port;
  const asserted =
    said?.presence === "present" ? "The slot's presence pin is asserted." : "The slot's presence pin was not read.";
  if (said?.presence === "absent" && said.linkActive !== true) {
    return {
      word: "presence-not-asserted",
      because: [
        `The slot behind ${bridge.address} reports that it holds no card. This is about its presence pins, not the chip.`,
      ],
    };
  }
  if (said?.linkActive === true) {
    return {
      word: "link-but-not-listed",
      because: [
        `The link behind ${bridge.address} is up (${linkText(bridge)}), but no device answers${look.rescanned ? " after a scan" : ""}.`,
      ],
    };
  }
  if (said?.linkActive === false || bridge.link.width === 0) {
    return {
      word: "no-link",
      because: [
        `The link behind ${bridge.address} is down. ${asserted}`,
        "Check in this order, cheapest first: reset, reference clock, lanes and their capacitors, then a chip without logic or firmware.",
      ],
    };
  }
  return {
    word: "not-listed",
    because: [
      `There is no device behind ${bridge.address}; the port does not report whether its link is up. ${asserted}`,
    ],
  };
}

const linkText = ({ link }: HostDevice): string =>
  `${link.speedGt === null ? "speed not said" : `${link.speedGt} GT/s`}, ${link.width === null ? "width not said" : `x${link.width}`}`;

function listed(evidence: HostEvidence, place: BoardInLook, device: HostDevice): Found[] {
  const problems = [
    firmware(evidence, device),
    narrow(evidence, place, device),
    errors(evidence, place),
    driver(evidence, device),
  ];
  const found = problems.filter((each) => each !== null);
  const enumerated: Found = {
    word: "enumerated",
    because: [
      `It is listed at ${device.address} as ${idOf(device)}, link ${linkText(device)}.`,
      ...restSpeed(place, device),
    ],
  };
  return [...found, enumerated];
}

/** The least of what both ends can, and of what the control got there. */
function both(one: number | null, other: number | null | undefined): number | null {
  const known = [one, other ?? null].filter((each) => each !== null);
  return known.length === 0 ? null : Math.min(...known);
}

function restSpeed({ port }: BoardInLook, { link }: HostDevice): string[] {
  const can = both(link.maxSpeedGt, port?.link.maxSpeedGt);
  if (can === null || link.speedGt === null || link.speedGt >= can) return [];
  return [`The link runs at ${link.speedGt} GT/s of ${can}: many cards reduce it at rest.`];
}

function narrow({ host, control, port }: HostEvidence, place: BoardInLook, device: HostDevice): Found | null {
  const { link } = device;
  const proof = control === null || port === null ? null : boardInLook(control, { port, host }).device;
  const slotWidth = both(place.port?.link.maxWidth ?? null, proof?.link.width);
  const width = both(both(link.maxWidth, slotWidth), host?.width);
  // A lower speed is held against it only where something says what it is at rest.
  const speed = host?.speedGt === undefined ? null : both(host.speedGt, place.port?.link.maxSpeedGt);
  const because: string[] = [];
  if (width !== null && link.width !== null && link.width < width)
    because.push(
      `Its link is x${link.width}, although both ends support x${width}: lanes or their capacitors. Compare the ohms of the lanes to find which.`,
    );
  if (speed !== null && link.speedGt !== null && link.speedGt < speed)
    because.push(`Its link runs at ${link.speedGt} GT/s; a good board of this kind runs at ${speed} GT/s at rest.`);
  return because.length === 0 ? null : { word: "narrow-or-slow", because };
}

function firmware({ host }: HostEvidence, device: HostDevice): Found | null {
  const because: string[] = [];
  const id = idOf(device);
  if (host?.bareIds?.includes(id)) because.push(`It is listed as ${id}, like its chip without firmware.`);
  else if (host !== null && !host.ids.includes(id))
    because.push(`It is listed as ${id}; a good board of this kind is ${host.ids.join(" or ")}.`);
  const subsystem =
    device.subsystemVendor === null || device.subsystemDevice === null
      ? null
      : `${device.subsystemVendor}:${device.subsystemDevice}`;
  if (host?.subsystem !== undefined && subsystem !== null && subsystem !== host.subsystem)
    because.push(`Its subsystem is ${subsystem}; a good board's is ${host.subsystem}.`);
  if (host?.optionRom === true && device.optionRom === false)
    because.push("It shows no option ROM, and a good board of this kind does.");
  if ((device.unassignedRegions ?? 0) > 0)
    because.push(`The host gave no address to ${device.unassignedRegions} of its regions.`);
  return because.length === 0
    ? null
    : { word: "firmware-doubtful", because: [...because, "Firmware: blank, corrupt, or from another board."] };
}

function errors({ earlier, look, changes }: HostEvidence, { functions }: BoardInLook): Found | null {
  const addresses = new Set(functions.map((each) => each.address));
  const because: string[] = [];
  for (const now of functions) {
    const before = earlier?.devices.find((each) => each.address === now.address && idOf(each) === idOf(now));
    for (const kind of ["correctable", "nonfatal", "fatal"] as const) {
      const [was, is] = [before?.aer[kind] ?? null, now.aer[kind]];
      if (was !== null && is !== null && is > was)
        because.push(`${now.address}: ${kind} errors grew from ${was} to ${is} between two looks.`);
    }
  }
  const watched = changes.filter((each) => each.what === "errors" && addresses.has(each.address));
  const [first, last] = [watched[0], watched.at(-1)];
  if (first !== undefined && last !== undefined)
    because.push(`Errors grew while it was watched: ${first.from} at first, ${last.to} at the end.`);
  if (because.length === 0) return null;
  const since =
    look.lookedAt === null ? [] : ["Growing errors point to the margin of a lane, a joint, or ripple on a supply."];
  return { word: "errors-growing", because: [...because, ...since] };
}

function driver({ look }: HostEvidence, device: HostDevice): Found | null {
  // A text without any driver was printed without them.
  const saysDrivers = look.source === "sysfs" || look.devices.some((each) => each.driver !== null);
  if (!saysDrivers || device.driver !== null) return null;
  return {
    word: "driver-not-bound",
    because: [
      "No driver uses it. Either none is installed or it failed. If one is installed: memory, or logic deeper in the chip.",
    ],
  };
}

function fellOff({ changes, port }: HostEvidence, place: BoardInLook): Found | null {
  const mine = new Set([...place.functions.map((each) => each.address), ...(port === null ? [] : [port])]);
  const bus = place.port?.port?.secondaryBus;
  const gone = changes.filter(
    ({ what, address }) =>
      what === "gone" &&
      (mine.has(address) || (bus != null && Number.parseInt(address.split(":").at(-2) ?? "", 16) === bus)),
  );
  const [first] = gone;
  if (first === undefined) return null;
  const back = changes.some((each) => each.what === "appeared" && each.address === first.address && each.at > first.at);
  return {
    word: "fell-off",
    because: [
      `${first.address} disappeared from the bus at ${first.at} by the host's clock${back ? ", and came back" : ""}: power stage, memory or temperature.`,
    ],
  };
}

function notTried({ look, control, changes, earlier }: HostEvidence, { device, port }: BoardInLook): string[] {
  return [
    ...(control === null ? ["a known good card in the same slot"] : []),
    ...(device === null && !look.rescanned ? ["another scan of the bus (--rescan)"] : []),
    ...(device === null && port !== null && port.port?.linkActive === null
      ? ["the port's link state (needs root)"]
      : []),
    ...(device !== null && changes.length === 0 && earlier === null ? ["a second look, for growing errors"] : []),
    ...(device !== null && changes.length === 0 ? ["a watch under load"] : []),
  ];
}
