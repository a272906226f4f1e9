import { homedir } from "node:os";
import { join } from "node:path";

/** Everything, apart from the links, in which the operating systems differ. Nothing else asks which system it is. */
export interface Platform {
  /** The system's folder for a program's data of this user. */
  dataHome(environment: NodeJS.ProcessEnv): string;
  /** The folder that tells when a process began, how long it ran and which files it has open; null: there is none. */
  processFolder: string | null;
  /** The command that gives a process real time; null: there is none. */
  realTimeCommand: string | null;
  /** The command that keeps the machine awake; null: there is none. */
  awakeCommand: string | null;
  /** Whether a folder can be written through to the disk. */
  flushesFolders: boolean;
  /** Whether uptime counts a suspension while the monotonic clock does not. */
  uptimeCountsSleep: boolean;
}

const BARE: Omit<Platform, "dataHome"> = {
  processFolder: null,
  realTimeCommand: null,
  awakeCommand: null,
  flushesFolders: true,
  uptimeCountsSleep: false,
};

/** $XDG_DATA_HOME, or ~/.local/share (XDG Base Directory Specification 0.8, which asks to ignore a relative path). */
function xdgDataHome({ XDG_DATA_HOME: xdg }: NodeJS.ProcessEnv): string {
  return xdg?.startsWith("/") ? xdg : join(homedir(), ".local", "share");
}

const PLATFORMS: Partial<Record<NodeJS.Platform, Platform>> = {
  linux: {
    dataHome: xdgDataHome,
    processFolder: "/proc",
    realTimeCommand: "chrt",
    awakeCommand: "systemd-inhibit",
    flushesFolders: true,
    uptimeCountsSleep: true,
  },
  darwin: { ...BARE, dataHome: () => join(homedir(), "Library", "Application Support") },
  win32: {
    ...BARE,
    dataHome: ({ LOCALAPPDATA: local }) => local || join(homedir(), "AppData", "Local"),
    flushesFolders: false,
  },
};

/** The facts of a system by Node's name for it; any other is taken for a plain Unix. */
export const platformOf = (name: NodeJS.Platform = process.platform): Platform =>
  PLATFORMS[name] ?? { ...BARE, dataHome: xdgDataHome };

/** The system this process runs on. */
export const thisPlatform: Platform = platformOf();
