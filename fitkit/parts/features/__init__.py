"""One file a feature; `fitkit.parts.feature` says what a feature is."""
