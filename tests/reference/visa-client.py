"""Drives a simulated supply and meter with an independent VISA client; prints what it saw as one line of JSON."""

import json
import sys
import time

import pyvisa

supply_name, meter_name = sys.argv[1:3]
manager = pyvisa.ResourceManager("@py")


def opened(name):
    resource = manager.open_resource(name)
    resource.read_termination = "\n"
    resource.write_termination = "\n"
    resource.timeout = 3000
    return resource


supply = opened(supply_name)
meter = opened(meter_name)
seen = {"supply": supply.query("*IDN?"), "meter": meter.query("*IDN?")}
supply.write("SOUR2:VOLT 12;CURR 1.5")
seen["set"] = [float(supply.query("SOUR2:VOLT?")), float(supply.query("SOUR2:CURR?"))]
supply.write("OUTP2 ON")
deadline = time.monotonic() + 5
while float(supply.query("MEAS2:VOLT?")) < 11.9 and time.monotonic() < deadline:
    pass
seen["measured"] = [float(each) for each in supply.query("MEAS2:VOLT?;:MEAS2:CURR?").split(";")]
seen["on"] = supply.query("OUTP2?")
seen["probed"] = float(meter.query("MEAS:VOLT?"))
supply.write("OUTP2 OFF")
seen["off"] = supply.query("OUTP2?")
supply.write("SOUR2:VOLT 999")
supply.write("NOSUCH:THING 1")
seen["errors"] = [supply.query("SYST:ERR?") for _ in range(3)]
seen["complete"] = supply.query("*OPC?")
seen["version"] = supply.query("SYST:VERS?")
supply.close()
meter.close()
print(json.dumps(seen))
