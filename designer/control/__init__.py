"""The speed loop: command and plant, regulator, tacho and its timer, constants of the program, protection times."""
