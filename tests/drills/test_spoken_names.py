"""What a drill is called by voice, those of packs among others."""

from __future__ import annotations

from voice_trainer.drills.model import Drill
from voice_trainer.drills.spoken_names import by_spoken_name


def drill(name: str, spoken_name: str | None = None) -> Drill:
    return Drill.model_validate(
        {
            "drill": name,
            "spoken_name": spoken_name,
            "title": "T",
            "kind": "checklist",
            "trains": "t",
            "steps": [
                {"step": "one", "when": "start", "flow": {"calls": [{"call": "gear", "say": "gear down"}]}}
            ],
        }
    )


def called(*drills: Drill) -> dict[str, str]:
    return {spoken: each.drill for spoken, each in by_spoken_name(drills).items()}


def test_a_drill_of_a_pack_is_called_by_its_own_name() -> None:
    assert called(drill("gull-school/vor-15"), drill("gear")) == {
        "vor one five": "gull-school/vor-15",
        "gear": "gear",
    }


def test_what_comes_first_keeps_its_name_and_the_drill_of_a_pack_is_called_by_its_whole_name() -> None:
    found = called(drill("gear"), drill("gull-school/gear"), drill("gull-school/x", "gear"))
    assert found == {"gear": "gear", "gull school gear": "gull-school/gear", "gull school x": "gull-school/x"}


def test_neither_of_two_packs_takes_a_name_from_the_other() -> None:
    found = called(drill("gull-school/gear"), drill("tern-school/gear"))
    assert found == {"gull school gear": "gull-school/gear", "tern school gear": "tern-school/gear"}
