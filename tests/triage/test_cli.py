"""The command line: exit codes, and what goes where."""

import errno
import json
from pathlib import Path

import pytest

from triage import cli
from triage.cli import main
from triage.settings import Settings

GOOD = {"id": "a1", "title": "Vennerby Halm 52-18", "description": "Lens 49 mm.", "price": "20.00"}


@pytest.fixture
def week(tmp_path: Path) -> Path:
    folder = tmp_path / "week"
    folder.mkdir()
    (folder / "listings.jsonl").write_text(json.dumps(GOOD) + "\n", encoding="utf-8")
    return folder


@pytest.fixture
def cache(tmp_path: Path) -> list[str]:
    return ["--cache", str(tmp_path / "cache"), "--workers", "1"]


def test_records_go_to_standard_output_and_nothing_else(
    week: Path, cache: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["read", str(week), "--format", "jsonl", *cache]) == 0
    told = capsys.readouterr()
    (record,) = map(json.loads, told.out.splitlines())
    assert record["title"] == GOOD["title"]
    assert record["price"] == "20.00"
    assert told.err.startswith("Files were opened in contained processes: ")


def test_quiet_says_nothing_beside_the_records(
    week: Path, cache: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["read", str(week), "--format", "jsonl", "--quiet", *cache]) == 0
    assert capsys.readouterr().err == ""


def test_one_file_is_read_as_a_folder_of_one(
    week: Path, cache: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["read", str(week / "listings.jsonl"), "--format", "jsonl", *cache]) == 0
    assert json.loads(capsys.readouterr().out)["source"] == "listings.jsonl"


def test_a_file_that_cannot_be_read_is_one_problem_and_the_rest_goes_on(
    week: Path, cache: list[str], capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    (week / "broken.json").write_text("{ not json")
    file = tmp_path / "problems.jsonl"
    given = ["read", str(week), "--format", "jsonl", "--problems", str(file), *cache]
    assert main(given) == 1
    told = capsys.readouterr()
    assert len(told.out.splitlines()) == 1
    assert "broken.json" in told.err
    (problem,) = map(json.loads, file.read_text().splitlines())
    assert list(problem) == ["source", "member", "what", "do"]
    assert problem["source"] == "broken.json"


def test_the_output_file_takes_the_records_instead(
    week: Path, cache: list[str], capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    out = tmp_path / "listings.csv"
    assert main(["read", str(week), "--format", "csv", "--output", str(out), *cache]) == 0
    assert capsys.readouterr().out == ""
    assert out.read_text().startswith("id,listing_id,url,source")


@pytest.mark.parametrize("command", ["read", "evidence", "photos", "rank"])
def test_a_missing_and_an_empty_folder_are_told_in_two_lines(
    command: str, cache: list[str], capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    for folder in (tmp_path / "none", empty):
        assert main([command, str(folder), *cache]) == 2
        told = capsys.readouterr()
        assert told.out == ""
        assert len(told.err.splitlines()) == 2
        assert str(folder) in told.err


def test_an_output_that_cannot_be_written_is_a_user_error(
    week: Path, cache: list[str], capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    assert main(["read", str(week), "--output", str(tmp_path / "no" / "o"), *cache]) == 2
    assert "cannot be written" in capsys.readouterr().err


def test_an_unknown_option_or_value_ends_with_two(
    week: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["read", str(week), "--workers", "0"]) == 2
    with pytest.raises(SystemExit) as caught:
        main(["read", str(week), "--format", "xml"])
    assert caught.value.code == 2
    capsys.readouterr()


@pytest.mark.parametrize(
    ("given", "meant"),
    [
        (["rnk", "week"], "(did you mean rank?)"),
        (["rank", "week", "--reprot", "x.html"], "(did you mean --report?)"),
        (["sheet", "chek", "x.toml"], "(did you mean check?)"),
    ],
)
def test_a_slip_is_answered_with_the_word_meant(
    given: list[str], meant: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        main(given)
    assert ended.value.code == 2
    assert meant in capsys.readouterr().err


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("y.zip", b"\x8f\x01\xfe" * 99, "is named .zip, but its bytes are those of no zip"),
        ("z.eml", b"\x8f\x01\xfe" * 99, "is named .eml, but its bytes are those of no e-mail"),
        ("e.csv", b"\n", "is empty"),
    ],
)
def test_a_misnamed_or_empty_file_is_called_so(
    name: str, content: bytes, says: str, week: Path, cache: list[str],
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    (week / name).write_bytes(content)
    assert main(["read", str(week), "--format", "jsonl", *cache]) == 1
    assert f"{name}: {says}" in " ".join(capsys.readouterr().err.split())


def test_a_settings_file_gives_options(
    week: Path, cache: list[str], capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = tmp_path / "mine.toml"
    file.write_text('format = "jsonl"\n')
    assert main(["read", str(week), "--settings", str(file), *cache]) == 0
    assert json.loads(capsys.readouterr().out)["title"] == GOOD["title"]


def test_explain_needs_a_folder_or_an_earlier_ranking(
    cache: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["explain", "1", *cache]) == 2
    assert "No folder was ranked yet" in capsys.readouterr().err


@pytest.mark.parametrize(
    "given",
    [
        ["rank", "no\x1b[31m"],
        ["rank", "x" * 5_000],
        ["rank", ".", "--sheets", "\u202egninrut"],
        ["rank", ".", "--unknown\x1b[31m"],
    ],
)
def test_what_was_typed_is_told_without_acting_on_the_terminal(
    given: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    try:
        code = main(given)
    except SystemExit as ended:
        code = int(ended.code or 0)
    told = capsys.readouterr().err
    assert code == 2
    assert told
    assert not {"\x1b", "\u202e"} & set(told)


@pytest.mark.parametrize(
    ("lost", "ours"), [(Path(cli.__file__).with_name("gone.css"), True), (Path("week.db"), False)]
)
def test_a_lost_file_of_the_tool_itself_is_no_fault_of_the_user(
    lost: Path, ours: bool, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(*_: object) -> Settings:
        raise FileNotFoundError(errno.ENOENT, "No such file or directory", str(lost))

    monkeypatch.setattr(cli, "make_settings", fail)
    if ours:
        with pytest.raises(FileNotFoundError):
            main(["read", "week"])
    else:
        assert main(["read", "week"]) == 2
        assert "week.db: No such file" in capsys.readouterr().err


def test_no_command_shows_which_there_are(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 2
    told = capsys.readouterr().err
    assert all(word in told for word in ("rank", "review", "explain", "sheet"))


@pytest.mark.parametrize(
    ("given", "message", "hint"),
    [
        (
            ["sheet", "show", "Orlenza Merin"],
            "No sheet goes by Orlenza Merin.",
            "Did you mean: Orlenza Merrin? Give its id, its name, an alias or its file.",
        ),
        (
            ["sheet", "show", "qwx"],
            "No sheet goes by qwx.",
            "Give its id, its name, an alias or its file.",
        ),
        (
            ["sheet", "show", "qwx", "--sheets", "no-such"],
            "No sheets folder at no-such.",
            "Give a folder that holds .toml sheets.",
        ),
    ],
)
def test_what_is_to_be_put_right_is_two_sentences(
    given: list[str], message: str, hint: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(given) == 2
    assert capsys.readouterr().err.splitlines() == [message, hint]
