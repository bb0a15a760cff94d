"""A table whose links and buttons answer without reloading the page.

The markup is made and escaped in `dashboards.markup`; this puts it on the page and says what was pressed:
an element with `data-act` (what) and `data-of` (whom). A link keeps its address, so that it opens in a new
tab, can be copied, and is read out as a link.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import streamlit as st

from dashboards.markup import Html

_SCRIPT = """
export default function ({ data, parentElement, setTriggerValue }) {
  const place = parentElement.querySelector('.sw-live');
  const kept = place.contains(document.activeElement)
    ? [document.activeElement.dataset.act, document.activeElement.dataset.of] : null;
  if (place.dataset.shown !== data.mark) {
    place.innerHTML = data.markup;
    place.dataset.shown = data.mark;
  }
  if (kept && kept[0]) {
    for (const one of place.querySelectorAll('[data-act]')) {
      if (one.dataset.act === kept[0] && one.dataset.of === kept[1]) one.focus();
    }
  }
  place.onclick = (event) => {
    const pressed = event.target.closest('[data-act]');
    if (!pressed || event.ctrlKey || event.metaKey || event.shiftKey || event.button) return;
    event.preventDefault();
    setTriggerValue('pressed', { act: pressed.dataset.act, of: pressed.dataset.of });
  };
}
"""


@dataclass(frozen=True)
class Pressed:
    """What was pressed in a live table: the act and whom or what it is about."""

    act: str
    of: str


def live_table(markup: Html, key: str) -> Pressed | None:
    """Show the markup; what was pressed since the page was last drawn, or None."""
    mount = st.components.v2.component(
        "setwright_live_table", html='<div class="sw-live"></div>', js=_SCRIPT, isolate_styles=False
    )
    result: Any = mount(
        key=key, data={"markup": str(markup), "mark": str(hash(markup))}, on_pressed_change=lambda: None
    )
    pressed = getattr(result, "pressed", None)
    if not isinstance(pressed, dict) or "act" not in pressed:
        return None
    return Pressed(str(pressed["act"]), str(pressed.get("of", "")))
