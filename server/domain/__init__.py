"""Pure rules of the trade: what follows from a build. No input or output of any kind."""
