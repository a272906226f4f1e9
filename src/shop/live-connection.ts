import { readFileSync } from "node:fs";
import mqtt, { type IClientOptions, type MqttClient } from "mqtt";
import { BenchError, quoted } from "../../shared/bench-error.ts";
import type { LiveKind } from "../../shared/shop-live.ts";
import { messageOf } from "../../shared/words/message-of.ts";

/** No message of a bench is nearly as large; the broker keeps back whatever is (MQTT 5.0, 3.1.2.11.4 "Maximum Packet Size"). */
export const MOST_BYTES = 16 * 1024;

/** The topic of a bench's messages of one kind. */
export const topicOf = (shop: string, bench: string, kind: LiveKind): string => `firstamp/${shop}/${bench}/${kind}`;

/**
 * Opens a connection to the broker of what is live, which is made again whenever it is lost. The user is part of `url`, the
 * password comes from FIRSTAMP_LIVE_PASSWORD; `?ca=FILE` names who signed the broker's certificate. Throws BenchError "bad-input"
 * where that file cannot be read.
 */
export function openBroker(url: string, options: IClientOptions = {}): MqttClient {
  const password = process.env["FIRSTAMP_LIVE_PASSWORD"];
  const address = new URL(url);
  const authority = address.searchParams.get("ca");
  address.search = "";
  const client = mqtt.connect(address.href, {
    protocolVersion: 5,
    clean: true,
    connectTimeout: 5000,
    reconnectPeriod: 5000,
    keepalive: 15,
    queueQoSZero: false,
    properties: { maximumPacketSize: MOST_BYTES, receiveMaximum: 20 },
    ...(password === undefined ? {} : { password }),
    ...(authority === null ? {} : { ca: certificateIn(authority) }),
    ...options,
  });
  // Said by "close" as well; without a listener it would end the program.
  client.on("error", () => undefined);
  return client;
}

function certificateIn(file: string): Buffer {
  try {
    return readFileSync(file);
  } catch (cause) {
    throw new BenchError(
      "bad-input",
      `Cannot read the broker's certificate authority ${quoted(file)}: ${messageOf(cause)}`,
      {
        cause,
      },
    );
  }
}
