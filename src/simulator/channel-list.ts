import { parseChannelList } from "../scpi/channel-list.ts";
import { ScpiError } from "./scpi-instrument.ts";

/** The channels of `(@1,3,4:6)`. Throws −121 for anything else. */
export function channelList(text: string): number[] {
  const channels = parseChannelList(text);
  if (channels === undefined) throw new ScpiError(-121, `Invalid character in number;${text}`);
  return channels;
}
