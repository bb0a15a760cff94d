"""The style sheet of the pages, from the same palette as the charts; printing included."""

from __future__ import annotations

from urllib.parse import quote

from dashboards.markup import shape_class
from dashboards.theme import PALETTES, Palette
from dashboards.wording import SEVERITY_WORDS, SPEAKS_WORDS, STATE_WORDS, StateWord, state_word

_RULES = """
[data-testid="stMainBlockContainer"] { padding: 3.6rem 1.6rem 2rem; max-width: 1680px; }
[data-testid="stVerticalBlock"] { gap: .7rem; }
[data-testid="stHtml"] { overflow-wrap: anywhere; }
[data-testid="stBaseButton-primary"] { color: var(--sw-paper); }
.sw-title { font-size: 1.35rem; font-weight: 600; margin: 0; line-height: 1.3; overflow-wrap: anywhere; }
.sw-section { font-size: .95rem; font-weight: 600; margin: .9rem 0 .1rem; padding-top: .5rem;
  border-top: 1px solid var(--sw-rule); color: var(--sw-ink); }
.sw-note { color: var(--sw-muted); font-size: .82rem; line-height: 1.4; margin: 0; }
.sw-sum { font-size: .92rem; color: var(--sw-muted); margin: 0; }
.sw-sum b { color: var(--sw-ink); font-variant-numeric: tabular-nums; }
.sw-lead { font-size: 1rem; line-height: 1.45; margin: 0; max-width: 62rem; }
.sw-facts { display: flex; flex-wrap: wrap; gap: .2rem 1.6rem; font-size: .86rem; color: var(--sw-muted);
  margin: 0; }
.sw-facts b { color: var(--sw-ink); font-weight: 600; font-variant-numeric: tabular-nums; }
.sw-facts > .sw-long { flex: 1 1 100%; display: -webkit-box; -webkit-line-clamp: 2; overflow: hidden;
  -webkit-box-orient: vertical; max-width: 75rem; }
.sw-clamp { display: -webkit-box; -webkit-line-clamp: 3; -webkit-box-orient: vertical; overflow: hidden; }
.sw-table bdi, .sw-name { unicode-bidi: isolate; }
.sw-state { display: inline-flex; align-items: center; gap: .4rem; white-space: nowrap; font-weight: 500; }
.sw-shape { display: inline-block; width: .92rem; height: .92rem; flex: none; background: currentColor;
  mask: no-repeat center / contain; print-color-adjust: exact; forced-color-adjust: none; }
.sw-attention { color: var(--sw-attention); }
.sw-main { color: var(--sw-main); }
.sw-quiet { color: var(--sw-muted); }
.sw-term { border-bottom: 1px dotted var(--sw-muted); cursor: help; }
.sw-scroll { overflow-x: auto; }
.sw-table { border-collapse: collapse; width: 100%; font-size: .86rem; line-height: 1.32;
  font-variant-numeric: tabular-nums; color: var(--sw-ink); margin: 0; }
.sw-table caption { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }
.sw-table th { font-weight: 500; font-size: .78rem; color: var(--sw-muted); padding: .2rem .55rem .25rem;
  border: 0; border-bottom: 1px solid var(--sw-rule); vertical-align: bottom; white-space: nowrap; }
.sw-table td { padding: .3rem .55rem; border: 0; border-bottom: 1px solid var(--sw-rule);
  vertical-align: top; overflow-wrap: anywhere; }
.sw-table tbody tr:hover td { background: var(--sw-panel); }
.sw-table tr.sw-group th { padding: .9rem .55rem .3rem; font-weight: 600; color: var(--sw-ink);
  font-size: .82rem; text-align: left; }
.sw-table tr.sw-group:first-child th { padding-top: .4rem; }
.sw-table .sw-l { text-align: left; min-width: 5.5rem; max-width: 26rem; }
.sw-table .sw-r { text-align: right; white-space: nowrap; }
.sw-table .sw-n { text-align: left; white-space: nowrap; }
.sw-table .sw-w { text-align: left; min-width: 15rem; }
.sw-table td small { color: var(--sw-muted); font-size: .94em; }
.sw-table th button { all: unset; cursor: pointer; border-bottom: 1px dotted var(--sw-muted); }
.sw-table th[aria-sort] button { color: var(--sw-ink); font-weight: 600; }
.sw-table a, .sw-link { color: var(--sw-ink); font-weight: 600; text-decoration: none; }
.sw-table a:hover { text-decoration: underline; }
a:focus-visible { outline: 2px solid var(--sw-main) !important; outline-offset: 2px; border-radius: 2px; }
.sw-live :focus-visible { outline: 2px solid var(--sw-main); outline-offset: 2px; border-radius: 2px; }
.sw-act { all: unset; cursor: pointer; font-size: .8rem; color: var(--sw-main); white-space: nowrap;
  border: 1px solid var(--sw-rule); border-radius: 3px; padding: .05rem .4rem; margin-right: .25rem; }
.sw-act:hover { border-color: var(--sw-main); }
.sw-act[aria-pressed="true"] { background: var(--sw-panel); color: var(--sw-ink); }
.sw-reviewed td { color: var(--sw-muted); }
.sw-one-line { display: block; overflow: hidden; display: -webkit-box; -webkit-line-clamp: 1;
  -webkit-box-orient: vertical; }
.sw-name { display: -webkit-box; -webkit-line-clamp: 2; -webkit-box-orient: vertical; overflow: hidden;
  min-width: 6.5rem; max-width: 13rem; }
.sw-tags { display: flex; flex-wrap: wrap; gap: .1rem .5rem; font-size: .76rem; color: var(--sw-muted); }
.sw-said { display: block; margin-top: .12rem; }
.sw-said q { font-weight: 600; quotes: "“" "”"; }
.sw-said b { color: var(--sw-attention); font-weight: 600; }
.sw-tags b { color: var(--sw-attention); font-weight: 600; }
.sw-spark { width: 68px; height: 21px; color: var(--sw-main); vertical-align: middle; }
.sw-bar { width: 62px; height: 14px; vertical-align: middle; }
.sw-bar-back { fill: var(--sw-span); }
.sw-bar-done { fill: var(--sw-main); }
.sw-bar-unknown { fill: none; stroke: var(--sw-main); stroke-dasharray: 2 1.5; }
.sw-tick { fill: var(--sw-ink); }
.sw-notice { border-left: 3px solid var(--sw-main); background: var(--sw-panel); padding: .45rem .8rem;
  font-size: .88rem; margin: 0; }
.sw-problem { border-left: 3px solid var(--sw-attention); background: var(--sw-panel); padding: .6rem .9rem;
  font-size: .95rem; line-height: 1.45; overflow-wrap: anywhere; }
.sw-pain { border: 1px solid var(--sw-attention); border-radius: 4px; padding: .55rem .9rem; font-size: .9rem;
  line-height: 1.45; }
.sw-pain q { font-weight: 600; quotes: "“" "”"; overflow-wrap: anywhere; }
.sw-pain p, .sw-caution p { margin: .2rem 0; font-size: inherit; }
.sw-caution { color: var(--sw-muted); font-size: .78rem; line-height: 1.45;
  border-top: 1px solid var(--sw-rule);  padding-top: .5rem; margin-top: 1rem; max-width: 75rem; }
.sw-part { font-size: .9rem; font-weight: 600; margin: 0; padding: 0; color: var(--sw-ink); }
.sw-evidence { margin: .2rem 0; font-size: .9rem; line-height: 1.45; }
.sw-evidence b { display: flex; align-items: center; gap: .4rem; font-weight: 500; font-size: .82rem;
  color: var(--sw-muted); }
.sw-evidence ul { margin: 0; padding-left: 1.1rem; font-size: inherit; }
.sw-options { margin: .2rem 0; padding-left: 1.1rem; font-size: .9rem; line-height: 1.45; }
.sw-options small { color: var(--sw-muted); font-size: .94em; }
.sw-strip { display: flex; gap: 2px; align-items: center; margin: .2rem 0; flex-wrap: wrap; }
.sw-strip > span { display: inline-flex; width: 1.25rem; height: 1.25rem; align-items: center;
  justify-content: center; background: var(--sw-panel); border-radius: 2px; }
.sw-strip > span.sw-chosen { outline: 1.5px solid var(--sw-ink); }
.sw-strip .sw-shape { width: .68rem; height: .68rem; }
@media (max-width: 1180px) { .sw-table .sw-narrow, .sw-table .sw-spare, .sw-table .sw-bar { display: none; } }
@media (max-width: 640px) {
  .sw-live thead { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }
  .sw-live .sw-table, .sw-live tbody { display: block; }
  .sw-live tr { display: flex; flex-wrap: wrap; align-items: baseline; gap: .15rem .8rem; padding: .5rem 0;
    border-bottom: 1px solid var(--sw-rule); }
  .sw-live .sw-table td { display: block; border: 0; padding: 0; min-width: 0; max-width: none; }
  .sw-live td:nth-child(4) { flex-basis: 100%; }
  .sw-live .sw-phone { display: none !important; }
  .sw-live .sw-act { padding: .35rem .8rem; }
}
.sw-print, [data-testid="stElementContainer"]:has(.sw-print) { display: none; }
@media print {
  .sw-print, [data-testid="stElementContainer"]:has(.sw-print) { display: block; }
  header, [data-testid="stHeader"], [data-testid="stToolbar"], [data-testid="stSelectbox"],
  [data-testid="stTextInput"], [data-testid="stButton"], [data-testid="stPills"],
  [data-testid="stMultiSelect"],
  [data-testid="stButtonGroup"], [data-testid="stDateInput"], [data-testid="stTextArea"],
  [data-testid="stForm"], [data-testid="stDownloadButton"], [data-testid="stNumberInput"],
  [data-testid="stCheckbox"], [data-testid="stExpander"], .sw-act, .sw-scribble { display: none !important; }
  html, body, #root, .stApp, [data-testid="stAppViewContainer"], [data-testid="stMain"], section.main {
    position: static !important; overflow: visible !important; height: auto !important;
    display: block !important; background: #fff !important; color: var(--sw-ink) !important; }
  [data-testid="stMainBlockContainer"] { padding: 0 !important; max-width: none; }
  [data-testid="stVerticalBlock"] { display: block !important; }
  [data-testid="stElementContainer"] { margin-bottom: .5rem; }
  /* a heading goes with what it heads */
  [data-testid="stElementContainer"]:has(.sw-section) { break-after: avoid; }
  .sw-scroll { overflow: visible; }
  .sw-table { font-size: 8.5pt; } .sw-table tr, [data-testid="stVegaLiteChart"] { break-inside: avoid; }
}
"""


def page_css(palette: Palette) -> str:
    """The style sheet in a palette."""
    on_paper = f"@media print {{ @page {{ margin: 12mm }} :root {{ {_variables(PALETTES['print'])} }} }}"
    if palette == PALETTES["dark"]:
        # charts are drawn already: inverted, and their hues turned back, they are light ones on paper
        on_paper += (
            '@media print { [data-testid="stVegaLiteChart"] { filter: invert(1) hue-rotate(180deg); } }'
        )
    words = [*STATE_WORDS.values(), *SEVERITY_WORDS.values(), *SPEAKS_WORDS.values()]
    shapes = [_shape_rule("sw-shape", state_word(None))]
    shapes += [_shape_rule(shape_class(word), word) for word in words]
    return "\n".join([f":root {{ {_variables(palette)} }}", _RULES, on_paper, *shapes])


def _variables(palette: Palette) -> str:
    """The colours that the rules name."""
    names = ("paper", "panel", "ink", "muted", "rule", "main", "attention", "span")
    return " ".join(f"--sw-{name}: {getattr(palette, name)};" for name in names)


def _shape_rule(css_class: str, word: StateWord) -> str:
    """A shape as a mask, so that it takes the colour of the text beside it."""
    paint = "fill='#000'" if word.is_filled else "fill='none' stroke='#000' stroke-width='.36'"
    svg = (
        "<svg xmlns='http://www.w3.org/2000/svg' viewBox='-1.35 -1.35 2.7 2.7'>"
        f"<path d='{word.shape}' {paint} stroke-linecap='round' stroke-linejoin='round'/></svg>"
    )
    return f'.{css_class} {{ mask-image: url("data:image/svg+xml,{quote(svg)}"); }}'
