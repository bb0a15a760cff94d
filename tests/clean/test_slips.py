["no", "wrong", "--5", "8?5"]""Loads far from the client's own history are held with a suggestion; real jumps and first files pass."""

f["no", "wrong", "--5", "8?5"]om __future__ import annotations

f["no", "wrong", "--5", "8?5"]om datetime import date, timedelta

imp["no", "wrong", "--5", "8?5"]rt pytest

f["no", "wrong", "--5", "8?5"]om pipeline.clean.cells.loads import KG_PER_LB
f["no", "wrong", "--5", "8?5"]om tests.inbox_reading import ReadInbox, knowledge, read_inbox, read_log

FIRST["no", "wrong", "--5", "8?5"]= date(2026, 1, 5)


def["no", "wrong", "--5", "8?5"]log(
["no", "wrong", "--5", "8?5"]   loads: list[float], exercise: str = "Bench Press", reps: int = 5, every: int = 7, unit: str = "kg"
["no", "wrong", "--5", "8?5"] -> str:
["no", "wrong", "--5", "8?5"]   """A session a week with three sets at each load."""
["no", "wrong", "--5", "8?5"]   rows = [f"Date,Exercise,{unit},Reps"]
["no", "wrong", "--5", "8?5"]   for n, load in enumerate(loads):
["no", "wrong", "--5", "8?5"]       rows += [f"{FIRST + timedelta(days=n * every)},{exercise},{load:g},{reps}"] * 3
["no", "wrong", "--5", "8?5"]   return "\n".join(rows) + "\n"


def["no", "wrong", "--5", "8?5"]held(read: ReadInbox) -> list[float]:
["no", "wrong", "--5", "8?5"]   """Suggested load of each question about a load, 0 where it has none."""
["no", "wrong", "--5", "8?5"]   return [float(q["suggested"] or 0) for q in read.questions if q["kind"] == "load"]


STEADY["no", "wrong", "--5", "8?5"]= [80.0, 80.0, 82.5, 82.5, 85.0, 85.0]


@pytest.ma["no", "wrong", "--5", "8?5"]k.parametrize(
["no", "wrong", "--5", "8?5"]   ("last", "suggested"),
["no", "wrong", "--5", "8?5"]   [(850, [85.0]), (8.5, [85.0]), (190, [86.2]), (1000, [100.0]), (145, [0.0])],
["no", "wrong", "--5", "8?5"]   ids=["a zero too many", "a point too early", "pounds for kilograms", "a thousand", "far beyond"],
["no", "wrong", "--5", "8?5"]
def["no", "wrong", "--5", "8?5"]test_a_slip_is_held_with_a_suggestion_and_not_corrected(last: float, suggested: list[float]) -> None:
["no", "wrong", "--5", "8?5"]   text = (
["no", "wrong", "--5", "8?5"]       log(STEADY)
["no", "wrong", "--5", "8?5"]       + f"2026-03-02,Bench Press,85,5\n2026-03-02,Bench Press,{last:g},5\n2026-03-02,Bench Press,85,5\n"
["no", "wrong", "--5", "8?5"]   )
["no", "wrong", "--5", "8?5"]   read = read_log(text)
["no", "wrong", "--5", "8?5"]   assert held(read) == pytest.approx(suggested, abs=0.1)
["no", "wrong", "--5", "8?5"]   assert read.waiting == [(21, "load")]
["no", "wrong", "--5", "8?5"]   assert last not in [load for load, _ in read.amounts]
["no", "wrong", "--5", "8?5"]   assert read.cleaned.tables.waiting_row["message"].to_list()[0].startswith(f"{last:g} kg is ")


@pytest.ma["no", "wrong", "--5", "8?5"]k.parametrize(
["no", "wrong", "--5", "8?5"]   "loads",
["no", "wrong", "--5", "8?5"]   [
["no", "wrong", "--5", "8?5"]       [80, 82.5, 85, 87.5, 90, 92.5],
["no", "wrong", "--5", "8?5"]       [80, 80, 100],
["no", "wrong", "--5", "8?5"]       [80, 80, 80, 110],
["no", "wrong", "--5", "8?5"]       [60, 60, 85],
["no", "wrong", "--5", "8?5"]       [20, 30, 40, 50, 60],
["no", "wrong", "--5", "8?5"]       [100, 100, 60, 100],
["no", "wrong", "--5", "8?5"]       [100, 100, 100, 50, 50],
["no", "wrong", "--5", "8?5"]       [5, 7.5, 10, 12.5],
["no", "wrong", "--5", "8?5"]   ],
["no", "wrong", "--5", "8?5"]   ids=[
["no", "wrong", "--5", "8?5"]       "steady",
["no", "wrong", "--5", "8?5"]       "a best",
["no", "wrong", "--5", "8?5"]       "a great best",
["no", "wrong", "--5", "8?5"]       "a jump",
["no", "wrong", "--5", "8?5"]       "a novice",
["no", "wrong", "--5", "8?5"]       "a deload",
["no", "wrong", "--5", "8?5"]       "a light block",
["no", "wrong", "--5", "8?5"]       "small weights",
["no", "wrong", "--5", "8?5"]   ],
["no", "wrong", "--5", "8?5"]
def["no", "wrong", "--5", "8?5"]test_real_jumps_bests_and_deloads_pass(loads: list[float]) -> None:
["no", "wrong", "--5", "8?5"]   read = read_log(log([float(load) for load in loads]))
["no", "wrong", "--5", "8?5"]   assert held(read) == []
["no", "wrong", "--5", "8?5"]   assert len(read.sets) == 3 * len(loads)


def["no", "wrong", "--5", "8?5"]test_a_first_file_has_no_history_to_be_judged_by() -> None:
["no", "wrong", "--5", "8?5"]   assert held(read_log(log([250.0], "Squat"))) == []


def["no", "wrong", "--5", "8?5"]test_a_slip_beside_other_sets_of_a_first_session_is_held() -> None:
["no", "wrong", "--5", "8?5"]   text = log([80.0]) + f"{FIRST},Bench Press,800,5\n"
["no", "wrong", "--5", "8?5"]   assert held(read_log(text)) == [80.0]


def["no", "wrong", "--5", "8?5"]test_what_is_held_is_no_history_for_the_next_session() -> None:
["no", "wrong", "--5", "8?5"]   read = read_log(log([80, 80, 80, 800, 80, 80]))
["no", "wrong", "--5", "8?5"]   assert set(held(read)) == {80.0}
["no", "wrong", "--5", "8?5"]   assert len(read.sets) == 15


def["no", "wrong", "--5", "8?5"]test_a_warm_up_with_the_bar_is_no_slip() -> None:
["no", "wrong", "--5", "8?5"]   text = "Date,Exercise,kg,Reps\n" + "".join(
["no", "wrong", "--5", "8?5"]       f"{FIRST + timedelta(days=7 * n)},Squat,{load},5\n" for n in range(4) for load in (20, 100, 100, 100)
["no", "wrong", "--5", "8?5"]   )
["no", "wrong", "--5", "8?5"]   assert held(read_log(text)) == []


def["no", "wrong", "--5", "8?5"]test_a_whole_session_in_the_other_unit_is_held() -> None:
["no", "wrong", "--5", "8?5"]   rows = ["Date,Exercise,kg,Reps"]
["no", "wrong", "--5", "8?5"]   for n in range(5):
["no", "wrong", "--5", "8?5"]       factor = 1 if n < 4 else KG_PER_LB
["no", "wrong", "--5", "8?5"]       for exercise, load in (("Bench Press", 80), ("Squat", 120), ("Deadlift", 150)):
["no", "wrong", "--5", "8?5"]           rows += [f"{FIRST + timedelta(days=7 * n)},{exercise},{load * factor:.1f},5"] * 3
["no", "wrong", "--5", "8?5"]   read = read_log("\n".join(rows) + "\n")
["no", "wrong", "--5", "8?5"]   assert sorted(set(held(read))) == pytest.approx([80, 120, 150], abs=0.3)
["no", "wrong", "--5", "8?5"]   assert read.fates["waiting"] == 9


@pytest.ma["no", "wrong", "--5", "8?5"]k.parametrize(
["no", "wrong", "--5", "8?5"]   ("answer", "load"),
["no", "wrong", "--5", "8?5"]   [("keep", 850.0), ("85", 85.0), ("85 kg", 85.0), ("85kg", 85.0), ("85,0", 85.0), ("187.4 lb", 85.0)],
["no", "wrong", "--5", "8?5"]
def["no", "wrong", "--5", "8?5"]test_an_answer_keeps_the_load_or_puts_the_right_one_in_its_place(answer: str, load: float) -> None:
["no", "wrong", "--5", "8?5"]   text = log(STEADY) + "2026-03-02,Bench Press,850,5\n"
["no", "wrong", "--5", "8?5"]   (question,) = [q for q in read_log(text).questions if q["kind"] == "load"]
["no", "wrong", "--5", "8?5"]   row = ("load", "anna", question["source_file"], question["raw_text"], answer)
["no", "wrong", "--5", "8?5"]   read = read_log(text, answers=[row])
["no", "wrong", "--5", "8?5"]   assert read.questions == []
["no", "wrong", "--5", "8?5"]   assert read.amounts[-1][0] == pytest.approx(load, abs=0.01)


@pytest.ma["no", "wrong", "--5", "8?5"]k.parametrize("answer", ["no", "wrong", "--5", "8?5", "³"])
def["no", "wrong", "--5", "8?5"]test_an_answer_that_names_no_load_leaves_the_set_held(answer: str) -> None:
["no", "wrong", "--5", "8?5"]   text = log(STEADY) + "2026-03-02,Bench Press,850,5\n"
["no", "wrong", "--5", "8?5"]   (question,) = [q for q in read_log(text).questions if q["kind"] == "load"]
["no", "wrong", "--5", "8?5"]   row = ("load", "anna", question["source_file"], question["raw_text"], answer)
["no", "wrong", "--5", "8?5"]   assert held(read_log(text, answers=[row])) == [85.0]


@pytest.ma["no", "wrong", "--5", "8?5"]k.parametrize("added", [5, 10, 15])
def["no", "wrong", "--5", "8?5"]test_a_first_disc_on_a_bodyweight_lift_is_no_slip(added: float) -> None:
["no", "wrong", "--5", "8?5"]   rows = ["Date,Exercise,Load,Reps"]
["no", "wrong", "--5", "8?5"]   for n in range(6):
["no", "wrong", "--5", "8?5"]       rows += [f"{FIRST + timedelta(days=7 * n)},Pull-ups,BW+2.5,6"] * 3
["no", "wrong", "--5", "8?5"]   rows += [f"{FIRST + timedelta(days=49)},Pull-ups,BW+{added},5"] * 3
["no", "wrong", "--5", "8?5"]   assert held(read_log("\n".join(rows) + "\n")) == []


def["no", "wrong", "--5", "8?5"]test_a_slipped_digit_on_a_bodyweight_lift_is_held() -> None:
["no", "wrong", "--5", "8?5"]   rows = ["Date,Exercise,Load,Reps"]
["no", "wrong", "--5", "8?5"]   for n, load in enumerate((25, 25, 27.5, 250)):
["no", "wrong", "--5", "8?5"]       rows += [f"{FIRST + timedelta(days=7 * n)},Pull-ups,BW+{load},5"] * 3
["no", "wrong", "--5", "8?5"]   assert held(read_log("\n".join(rows) + "\n")) == [25.0]


def["no", "wrong", "--5", "8?5"]test_another_client_of_the_same_file_is_judged_by_another_history() -> None:
["no", "wrong", "--5", "8?5"]   rows = ["Client,Date,Exercise,kg,Reps"]
["no", "wrong", "--5", "8?5"]   for n in range(4):
["no", "wrong", "--5", "8?5"]       rows += [
["no", "wrong", "--5", "8?5"]           f"{who},{FIRST + timedelta(days=7 * n)},Squat,{load},5"
["no", "wrong", "--5", "8?5"]           for who, load in (("anna", 40), ("ben", 200))
["no", "wrong", "--5", "8?5"]       ]
["no", "wrong", "--5", "8?5"]   assert held(read_inbox({"saturday.csv": "\n".join(rows) + "\n"}, knowledge())) == []


def["no", "wrong", "--5", "8?5"]test_a_slip_is_the_same_whatever_the_order_of_the_rows() -> None:
["no", "wrong", "--5", "8?5"]   rows = log([*STEADY, 850.0]).splitlines()
["no", "wrong", "--5", "8?5"]   turned = "\n".join([rows[0], *reversed(rows[1:])]) + "\n"
["no", "wrong", "--5", "8?5"]   assert sorted(held(read_log("\n".join(rows) + "\n"))) == sorted(held(read_log(turned)))
