"""The command line: parse, call the library, print. No physics."""
