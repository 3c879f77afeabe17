"""One file a carrier; `fitkit.parts.carrier` says what a carrier is."""
