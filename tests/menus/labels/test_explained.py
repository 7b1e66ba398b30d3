"""A label laid open: what `show_label` prints."""

from __future__ import annotations

import io

import pytest
from django.core.management import CommandError, call_command

from menus.labels.explained import explained
from menus.labels.label import LONGEST_LABEL, LabelText
from menus.labels.lexicon import Meaning
from menus.labels.printed import printed
from menus.labels.reader import read


def lines(text: str, contains: str = "") -> list[str]:
    return list(printed(explained(read(LabelText(text, contains=contains)))))


def test_the_list_shows_as_it_nests_with_places_and_rows() -> None:
    """An item under its compound, its words in place, the row that matched with its source."""
    told = lines("chocolate (sugar, whey), zorbalex. May contain egg")
    at = {line.strip().split("  ")[0]: line for line in told}
    assert at["“chocolate” 0-9"].startswith("  “")
    assert at["“whey” 18-22"].startswith("    “")
    assert any("18-22 whey: derived milk (" in line for line in told)
    assert any("“zorbalex” 25-33: not known" in line for line in told)
    assert any("[said as may-contain]" in line for line in told)
    assert any("[what it is made of is told]" in line for line in told)


def test_what_it_says_comes_gravest_first_with_the_reason() -> None:
    """Level, kind, words, lexicon phrase, source."""
    told = lines("nuts, whey, almods", contains="milk")
    said = told[told.index("what it says") + 1 :]
    levels = [line.rsplit(" ", 1)[1] for line in said if line.startswith("  ") and not line.startswith("   ")]
    assert levels == sorted(levels, key=["present", "possible", "unread"].index)
    assert any(line.strip().startswith("declared: “milk” 0-4 of contains, milk (") for line in said)
    assert any(line.strip().startswith("near-miss: “almods” 12-18 of ingredients, almond (") for line in said)


def test_a_row_of_another_place_is_shown_as_such() -> None:
    """In the European Union lactitol need not be called milk; in the United States that row says nothing."""
    told = [line for line in lines("lactitol") if "exempt" in line]
    assert told and all(line.endswith(", which does not hold here") for line in told)
    (known,) = explained(read(LabelText("lactitol", jurisdiction="eu"))).parts[0].lines[0].known
    assert [row.jurisdictions for row in known.rows if row.meaning is Meaning.EXEMPT] == [frozenset({"eu", "uk"})]


def test_a_slip_says_what_it_is_taken_for_and_a_riddle_what_it_is_near() -> None:
    """Neither is called known."""
    told = lines("almods, zorbalex")
    assert any("“almods” 0-6: taken for a slip of almond" in line for line in told)
    assert any("“zorbalex” 8-16: not known" in line for line in told)


def test_a_claim_is_shown_as_a_claim() -> None:
    """With what it denies."""
    assert "  claims to be free of peanut: “peanut” 6-12; shown, and never believed" in lines("salt, peanut-free")


@pytest.mark.parametrize("text", ["", "(" * 3000, "a: b: (c [d", "water"])
def test_any_text_can_be_laid_open(text: str) -> None:
    """However deep it nests, and where it says nothing."""
    assert "what it says" in lines(text)


def test_the_command_reads_its_argument_or_standard_input(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Under the law of the place, the regulator and the day given."""
    call_command("show_label", "spices", "--jurisdiction", "eu")
    assert "mustard: possible" not in capsys.readouterr().out
    monkeypatch.setattr("sys.stdin", io.StringIO("spices"))
    call_command("show_label", "--regulator", "fsis", "--seen-on", "2024-05-01", "--contains", "milk")
    printed = capsys.readouterr().out
    assert "mustard: possible" in printed
    assert "declared: “milk”" in printed
    assert "no statement that the food may be served" in printed


def test_a_text_too_long_is_refused() -> None:
    """With the sentence that says how long a label may be."""
    with pytest.raises(CommandError, match="may have at most 20,000"):
        call_command("show_label", "m" * (LONGEST_LABEL + 1))
