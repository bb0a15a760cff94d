"""Charts for the pages and for the printed report: polars frame in, a drawing out whose `to_dict` is Vega-Lite.

Every function takes frames with the contract's column names (kilograms, seconds), and these keywords:

- `unit`: `kg` or `lb`, where loads or bodyweight are drawn;
- `say`: turns an English label into the reader's language (the key is the English text);
- `width`: pixels, or `"container"` on a page; `height` in pixels.

No styling here: a mark names its `style` and `dashboards.theme` gives it its look. To print, call
`theme.use("print", font=…)` first. An empty frame gives an empty chart, never an error: the caller says
in words that there is nothing to draw. Plain Vega-Lite throughout, so that vl-convert draws the same.
"""

from dashboards.charts.adherence import plot_adherence_calendar
from dashboards.charts.check_ins import plot_bodyweight, plot_check_ins
from dashboards.charts.context import Drawing
from dashboards.charts.effort import plot_effort_at_matched_work
from dashboards.charts.muscles import plot_muscle_history, plot_muscle_week
from dashboards.charts.strength import plot_e1rm_trend, plot_strength_line

__all__ = [
    "Drawing",
    "plot_adherence_calendar",
    "plot_bodyweight",
    "plot_check_ins",
    "plot_e1rm_trend",
    "plot_effort_at_matched_work",
    "plot_muscle_history",
    "plot_muscle_week",
    "plot_strength_line",
]
