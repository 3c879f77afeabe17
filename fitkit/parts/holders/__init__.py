"""One file a holder; `fitkit.parts.holder` says what a holder is and finds them by title."""
