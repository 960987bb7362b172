"""Belts, pulleys, speeds and torque: from the wanted speed to the place of the motor shaft."""
