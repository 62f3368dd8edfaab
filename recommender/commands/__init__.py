"""The commands, a family a file: each adds its parsers with `add` and answers with what it sets as `run`."""
