"""The shipped templates, a file or a folder each; `fitkit.parts.registry` names them."""
