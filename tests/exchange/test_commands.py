"""The commands export and import: what they write, print and refuse."""

import pytest
from exchange_makers import BY, all_reads, fill

from advisor.__main__ import main
from advisor.exchange.log_file import LogFile
from advisor.store import exchange
from advisor.store.log import default_url, open_log


@pytest.fixture
def run(tmp_path, monkeypatch, capsys):
    """Run a command on the log of a folder of the test's; exit status, output and errors."""
    monkeypatch.delenv("ADVISOR_DATABASE_URL", raising=False)

    def command(folder, *arguments):
        monkeypatch.setenv("ADVISOR_DATA_DIR", str(tmp_path / folder))
        status = main([*arguments, "--data", str(tmp_path / folder)])
        return status, *capsys.readouterr()

    monkeypatch.setenv("ADVISOR_DATA_DIR", str(tmp_path / "here"))
    log = fill(open_log())
    log.close()
    return command


def reads(tmp_path, monkeypatch, folder):
    monkeypatch.setenv("ADVISOR_DATA_DIR", str(tmp_path / folder))
    log = open_log(default_url())
    try:
        return all_reads(log)
    finally:
        log.close()


@pytest.mark.parametrize("name", ["log.jsonl", "log.zip", "LOG.ZIP"])
def test_a_log_moves_to_another_folder(run, tmp_path, monkeypatch, name):
    path = tmp_path / name
    status, said, _ = run("here", "export", str(path))
    assert status == 0
    assert "coupon revision: 8\n" in said
    with path.open("rb") as file:
        assert LogFile(file).header.coupons == 6
    status, said, _ = run("there", "import", str(path), "--by", BY, "--preview")
    assert status == 0
    assert "coupon revision: 8 new, 0 known\n" in said
    assert said.endswith("nothing was stored\n")
    assert reads(tmp_path, monkeypatch, "there")["coupons"] == []
    status, said, _ = run("there", "import", str(path), "--by", BY)
    assert (status, said.splitlines()[-1]) == (0, "54 records are new")
    status, said, _ = run("there", "import", str(path), "--by", BY)
    assert (status, said.splitlines()[-1]) == (0, "0 records are new")
    here, there = (reads(tmp_path, monkeypatch, folder) for folder in ("here", "there"))
    assert there["changes"].pop(0)[2] == "log of Shop brought in"
    assert here == there


def test_a_file_is_never_written_over(run, tmp_path):
    path = tmp_path / "log.jsonl"
    path.write_text("mine")
    status, _, said = run("here", "export", str(path))
    assert status == 2
    assert "log.jsonl is there already; choose another name, or move it away" in said
    assert path.read_text() == "mine"


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("log.csv", "must end in .jsonl (JSON Lines) or .zip (CSV)"),
        ("nowhere/log.zip", "cannot be written: No such file or directory"),
    ],
)
def test_where_nothing_can_be_written_is_said(run, tmp_path, name, words):
    status, _, said = run("here", "export", str(tmp_path / name))
    assert status == 2
    assert words in said


def test_half_a_file_does_not_stay(run, tmp_path, monkeypatch):
    def full(file, *_):
        file.write(b"x" * 100)
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(exchange, "write_json_lines", full)
    path = tmp_path / "log.jsonl"
    status, _, said = run("here", "export", str(path))
    assert status == 2
    assert "log.jsonl could not be written: No space left on device" in said
    assert not path.exists()


def test_a_file_that_cannot_be_brought_in_is_refused_in_a_sentence(run, tmp_path):
    path = tmp_path / "log.jsonl"
    status, _, said = run("there", "import", str(path), "--by", BY)
    assert (status, "log.jsonl cannot be read: No such file" in said) == (2, True)
    path.write_text("made_at,welder\n")
    status, _, said = run("there", "import", str(path), "--by", BY)
    assert (status, "line 1: it is no JSON" in said) == (2, True)
    status, _, said = run("there", "import", str(path), "--by", " ")
    assert status == 2


def test_whose_hand_it_was_has_to_be_said(run, capsys):
    with pytest.raises(SystemExit, match="2"):
        run("here", "import", "log.jsonl")
    assert "--by" in capsys.readouterr().err
