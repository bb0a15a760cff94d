"""What the coach keeps: roster, catalogue, plans, check-ins, settings. Filled by ingest and clean."""

from __future__ import annotations

from pipeline.contract.column import Table, date, real, text, whole, yes_no

PATTERNS = (
    "horizontal_press",
    "overhead_press",
    "vertical_pull",
    "row",
    "squat",
    "lunge",
    "leg_press",
    "hip_hinge",
    "hip_thrust",
    "carry",
    "isolation",
    "core",
    "olympic",
    "conditioning",
    "other",
)
IMPLEMENTS = (
    "barbell",
    "dumbbell",
    "kettlebell",
    "machine_plates",
    "machine_stack",
    "cable",
    "smith",
    "bodyweight",
    "band",
    "trap_bar",
    "ez_bar",
    "other",
)
LOAD_BASES = ("total", "per_hand", "bodyweight", "assistance", "band", "machine_step", "none")
MUSCLES = (
    "chest",
    "front_delts",
    "side_delts",
    "rear_delts",
    "triceps",
    "biceps",
    "forearms",
    "lats",
    "upper_back",
    "traps",
    "spinal_erectors",
    "abs",
    "glutes",
    "quads",
    "hamstrings",
    "adductors",
    "abductors",
    "calves",
    "hip_flexors",
    "neck",
)
CLIENT_STATUSES = ("novice", "intermediate", "advanced")

CLIENT = Table(
    "client",
    "a client of the roster",
    (
        text("client_id", "the coach's id for the client", required=True),
        text("name", "name as the coach writes it"),
        text("status", "training age as the coach judges it", allowed=CLIENT_STATUSES),
        text("unit", "unit the client logs in and is shown", allowed=("kg", "lb")),
        real("bodyweight_kg", "bodyweight when the client started", "kg", low=20, high=350),
        date("start_date", "first day with the coach"),
        text("date_order", "order of numeric dates in the client's files", allowed=("dmy", "mdy", "ymd")),
        text("tags", "the coach's own labels, comma separated"),
        text("goal", "what the client trains for, in the coach's words"),
        text("notes", "anything else"),
        yes_no("is_in_roster", "false: logs name the client but clients.csv does not"),
    ),
    key=("client_id",),
)

EXERCISE = Table(
    "exercise",
    "an exercise of the catalogue",
    (
        text("exercise_id", "stable id, lower case with underscores", required=True),
        text("exercise_name", "name shown", required=True),
        text("pattern", "movement pattern", required=True, allowed=PATTERNS),
        text("implement", "what is held or moved", required=True, allowed=IMPLEMENTS),
        text("load_basis", "what a logged load means for this exercise", required=True, allowed=LOAD_BASES),
        real(
            "bodyweight_share",
            "share of bodyweight moved, 0 where load alone is",
            "share, 0 to 1.2",
            low=0,
            high=1.2,
        ),
        whole(
            "implements",
            "dumbbells or kettlebells held (2: one a hand)",
            "dumbbells or kettlebells",
            low=1,
            high=2,
        ),
        yes_no("is_one_sided", "done one side at a time"),
        yes_no("is_timed", "logged by seconds rather than repetitions"),
        yes_no(
            "is_e1rm_lift",
            "an e1RM means something: a load on a full movement, not a hold, band or machine step",
        ),
        yes_no("is_coach_own", "comes from the coach's exercises.csv"),
    ),
    key=("exercise_id",),
)

EXERCISE_MUSCLE = Table(
    "exercise_muscle",
    "an exercise and a muscle it trains",
    (
        text("exercise_id", "the exercise", required=True),
        text("muscle", "the muscle", required=True, allowed=MUSCLES),
        real(
            "credit",
            "hard sets one hard set counts for: 1 direct, 0.5 indirect",
            "sets",
            low=0,
            high=1,
            required=True,
        ),
    ),
    key=("exercise_id", "muscle"),
)

PLAN_SLOT = Table(
    "plan_slot",
    "a planned exercise on a planned day of a plan version",
    (
        text("client_id", "the client", required=True),
        text("plan", "name of the plan"),
        date("valid_from", "first day the version holds", required=True),
        date(
            "valid_to",
            "last day it holds; empty: until the next version (a deload, taper or break with an end only "
            "interrupts it)",
        ),
        text("phase", "build, deload, break, peak, return … as the coach wrote it, lower case"),
        text("day", "name of the training day", required=True),
        whole("weekday", "1 Monday … 7 Sunday; empty: any day", "weekday, 1 to 7", low=1, high=7),
        whole("slot", "order within the day", "place, from 1", low=1, high=60),
        text("exercise_id", "the exercise; empty in a break"),
        text("exercise_name", "name shown"),
        text("exercise_text", "the exercise as the plan file wrote it"),
        whole("sets", "planned working sets", "sets", low=0, high=30),
        whole("rep_low", "least repetitions of the range", "repetitions", low=1, high=100),
        whole("rep_high", "most repetitions of the range", "repetitions", low=1, high=100),
        real("target_rir", "repetitions in reserve aimed at", "repetitions", low=0, high=10),
        text("superset", "letter or label that pairs exercises done in turn"),
        real("rest_s", "rest between sets", "s", low=0, high=1800),
        text("alternatives", "exercise ids that may stand in, separated by ;"),
        real("duration_low_s", "least seconds of a timed set", "s", low=1, high=3600),
        real("duration_high_s", "most seconds of a timed set", "s", low=1, high=3600),
        real(
            "percent_e1rm",
            "load as a share of the current e1RM, where the plan sets it so",
            "%",
            low=20,
            high=110,
        ),
        text(
            "progression",
            "double, two_for_two or percent where the plan says how this exercise progresses; "
            "empty: as the workspace says",
            allowed=("double", "two_for_two", "percent"),
        ),
        text("tempo", "seconds of each part of a repetition as the plan writes them, such as 3-1-1-0"),
        text("note", "the coach's remark on the exercise"),
        text("source_file", "path below plans/"),
        text("source_sheet", "sheet of a workbook"),
        whole("source_row", "record in the file or sheet, from 1", "record, from 1"),
    ),
)

CHECK_IN = Table(
    "check_in",
    "a client's dated answers",
    (
        text("client_id", "the client", required=True),
        date("check_in_date", "the day", required=True),
        real("bodyweight_kg", "bodyweight", "kg", low=20, high=350),
        real("sleep_h", "sleep a night", "h", low=0, high=24),
        real("sleep_quality", "1 bad … 5 good", "scale", low=0, high=10),
        real("soreness", "1 none … 5 very sore", "scale", low=0, high=10),
        real("motivation", "1 none … 5 eager", "scale", low=0, high=10),
        real("stress", "1 none … 5 very stressed", "scale", low=0, high=10),
        real("waist_cm", "waist", "cm", low=30, high=250),
        text("excused", "why training was excused that day: illness, travel, holiday … ; empty: it was not"),
        text("note", "the client's words"),
        text("source_file", "path below check_ins/"),
        text("source_sheet", "sheet of a workbook"),
        whole("source_row", "record in the file or sheet, from 1", "record, from 1"),
    ),
)

EXCUSED_SPAN = Table(
    "excused_span",
    "a stretch of days on which training was excused or a break announced",
    (
        text("client_id", "the client", required=True),
        date("date_from", "first day", required=True),
        date("date_to", "last day", required=True),
        text("kind", "break (announced in the plan), illness, travel, holiday, other", required=True),
        text("source", "file and row it comes from"),
    ),
)

MUSCLE_TARGET = Table(
    "muscle_target",
    "a muscle's weekly target range",
    (
        text("muscle", "the muscle", required=True, allowed=MUSCLES),
        real("target_low", "least weekly hard sets (fractional counting)", "sets", low=0, high=60),
        real("target_high", "most weekly hard sets (fractional counting)", "sets", low=0, high=60),
        text("source", "where the range comes from"),
    ),
    key=("muscle",),
)

SETTING = Table(
    "setting",
    "the settings in force (one row)",
    (
        date("as_of", "the day up to which files are read and weeks are closed", required=True),
        text("e1rm_equation", "epley, brzycki, lombardi, mayhew, oconner, wathan or lander", required=True),
        whole(
            "e1rm_max_reps",
            "no estimate above so many repetitions to failure, nor above the range of the equation "
            "(epley, brzycki, oconner, lander: 10)",
            "repetitions",
        ),
        real("hard_set_max_rir", "a working set at this RIR or less is a hard set", "repetitions"),
        whole("first_day_of_week", "1 Monday … 7 Sunday", "weekday, 1 to 7"),
        real("bar_kg", "weight of the bar where only plates are logged", "kg"),
        whole("recent_log_days", "no log for longer than this: no recent log", "days"),
        text("plan_rules", "JSON of the plan rules the coach has switched off or changed"),
        text("progression", "JSON of the progression figures the coach has changed"),
    ),
)

CALENDAR = Table(
    "calendar",
    "a day from the first log to the as-of day",
    (
        date("day", "the day", required=True),
        date("week_start", "first day of its week", required=True),
        date("week_end", "last day of its week", required=True),
        whole("weekday", "1 Monday … 7 Sunday", "weekday, 1 to 7"),
        yes_no("is_complete_week", "the week ends on or before the as-of day"),
    ),
    key=("day",),
)

TABLES = (
    CLIENT,
    EXERCISE,
    EXERCISE_MUSCLE,
    PLAN_SLOT,
    CHECK_IN,
    EXCUSED_SPAN,
    MUSCLE_TARGET,
    SETTING,
    CALENDAR,
)
