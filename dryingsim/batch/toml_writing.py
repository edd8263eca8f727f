"""Values and keys as TOML spells them."""

import json
from typing import Any


def toml_text(value: Any) -> str:
    """Return a value as TOML spells it on one line: text, a number, true or false, a date, a list, a table.

    Examples
    --------
    >>> toml_text({"value": "5 mm", "share": [0.5, True]})
    '{ value = "5 mm", share = [0.5, true] }'
    """
    if isinstance(value, dict):
        inside = ", ".join(f"{toml_key(key)} = {toml_text(one)}" for key, one in value.items())
        return f"{{ {inside} }}" if value else "{}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(toml_text, value))}]"
    return json.dumps(value, ensure_ascii=False) if isinstance(value, str | bool) else str(value)


def toml_key(key: str) -> str:
    """Return a key as TOML spells it: in quotes only where it needs them."""
    plain = key.isascii() and key.replace("_", "").replace("-", "").isalnum()
    return key if plain else json.dumps(key, ensure_ascii=False)
