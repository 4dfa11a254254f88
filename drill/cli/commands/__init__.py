"""The commands, one module per command, named as it is typed; COMMANDS in drill.cli lists them."""
