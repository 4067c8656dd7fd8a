"""Every option is declared once, and a wrong value is told in words."""

import argparse
from pathlib import Path

import pytest

from extractors.errors import UserError
from triage.settings import OPTIONS, Settings, add_options, make_settings, settings_table


def test_every_field_is_an_option_with_help() -> None:
    assert [option.name for option in OPTIONS] == list(Settings.__dataclass_fields__)
    assert all(option.help and option.commands for option in OPTIONS)


@pytest.mark.parametrize("option", OPTIONS, ids=lambda option: option.name)
def test_readme_table_names_every_option(option: object) -> None:
    table = settings_table()
    assert f"`{option.flag} " in table or f"`{option.flag}`" in table  # type: ignore[attr-defined]


def test_the_command_line_overrides_the_settings_file(tmp_path: Path) -> None:
    file = tmp_path / "settings.toml"
    file.write_text('format = "csv"\nworkers = 1\nsheets = ["mine", "theirs"]\n')
    settings = make_settings({"format": "jsonl"}, file)
    assert (settings.format, settings.workers) == ("jsonl", 1)
    assert settings.sheets == (Path("mine"), Path("theirs"))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("colour = 1", "unknown key"),
        ('format = "xml"', "--format cannot be 'xml'"),
        ("workers = 0", "--workers cannot be 0"),
        ("workers = 1.5", "--workers cannot be 1.5"),
        ("patience = nan", "--patience cannot be nan"),
        ("patience = true", "--patience cannot be True"),
        ('quiet = "yes"', "--quiet cannot be 'yes'"),
        ("sheets = [1]", "--sheets cannot be"),
        ('leave-out = ["prices"]', "--leave-out cannot be"),
        ("format = ", "not valid TOML"),
        ("looks" + " = " + "9" * 5_000, "not valid TOML"),
        ("looks = " + "[" * 3_000, "not valid TOML"),
        ("a" + ".a" * 12_000 + " = 1", "too long"),
        ("workers = 65", "--workers cannot be 65"),
        ("patience = inf", "--patience cannot be inf"),
        ("gain = " + "9" * 4_000, "--gain cannot be 9999"),
        ('output = "a\\u0000b"', "--output cannot be"),
        ('report = "~no-such-person/x"', "--report cannot be"),
    ],
)
def test_a_wrong_settings_file_is_told_with_a_hint(tmp_path: Path, text: str, said: str) -> None:
    file = tmp_path / "settings.toml"
    file.write_text(text)
    with pytest.raises(UserError) as caught:
        make_settings({}, file)
    assert said in caught.value.message
    assert caught.value.hint


def test_a_missing_settings_file_is_a_user_error(tmp_path: Path) -> None:
    with pytest.raises(UserError):
        make_settings({}, tmp_path / "none.toml")


def test_options_left_out_on_the_command_line_stay_unset() -> None:
    parser = argparse.ArgumentParser()
    add_options(parser, "rank")
    assert vars(parser.parse_args([])) == {}
    given = vars(parser.parse_args(["--sheets", "a", "--sheets", "b", "--quiet"]))
    assert make_settings(given).sheets == (Path("a"), Path("b"))


def test_a_settings_file_that_never_ends_is_a_user_error() -> None:
    with pytest.raises(UserError, match="is no file"):
        make_settings({}, Path("/dev/zero"))
