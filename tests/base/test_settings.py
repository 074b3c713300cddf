"""Settings: file under environment, and a refusal that points at the fault."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from survey.cli.next_steps import next_step_words
from survey.errors import BadValue, ToolMissing
from survey.settings import Settings, get_config_path, get_sample_photos_dir, list_settings, load_settings


def _env(tmp_path: Path, text: str, **variables: str) -> dict[str, str]:
    path = tmp_path / "config.toml"
    path.write_text(text, "utf-8")
    return {"TEACHEST_CONFIG": str(path), **variables}


def test_without_a_file_the_defaults_hold() -> None:
    assert load_settings({}) == Settings(surveyor="", paper="a4", port=8750, kind="lightweight")


def test_the_file_is_read_and_the_environment_outweighs_it(tmp_path: Path) -> None:
    text = 'surveyor = "Ada Marsh"\npaper = "letter"\nport = 9000\nkind = "autocycle"\n'
    assert load_settings(_env(tmp_path, text)) == Settings("Ada Marsh", "letter", 9000, "autocycle")
    env = _env(tmp_path, text, TEACHEST_PAPER="A4", TEACHEST_PORT="0", TEACHEST_SURVEYOR=" Jo Quill ")
    assert load_settings(env) == Settings("Jo Quill", "a4", 0, "autocycle")


def test_the_file_stands_where_the_system_keeps_such_files(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr("platformdirs.user_config_path", lambda name, appauthor: tmp_path / name)
    assert get_config_path({}) == tmp_path / "teachest" / "config.toml"
    assert get_config_path({"TEACHEST_CONFIG": "~/mine.toml"}) == Path.home() / "mine.toml"


@pytest.mark.skipif(os.name != "posix" or os.uname().sysname != "Linux", reason="XDG folders are for Linux")
def test_on_linux_the_xdg_folder_is_used(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.undo()
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    assert get_config_path({}) == tmp_path / "teachest" / "config.toml"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('surveyor = "Ada"\n\npaper = "foolscap"\n', ["line 3", "paper", "foolscap", "a4 or letter"]),
        ("port = 70000\n", ["line 1", "port", "0 to 65535"]),
        ("port = true\n", ["line 1", "port", "0 to 65535"]),
        ("surveyor = 3\n", ["line 1", "surveyor", "a name"]),
        ('kind = "../up"\n', ["line 1", "kind", "teachest kinds"]),
        ('paper = "a4"\ncolour = "red"\n', ["line 2", "colour", "surveyor, paper, port and kind"]),
        ("[machine]\nname = 1\n", ["line 1", "machine", "surveyor, paper"]),
        ("paper = a4\n", ["not TOML", "line 1"]),
    ],
)
def test_a_bad_file_is_refused_with_file_line_and_what_is_allowed(tmp_path: Path, text: str, said: list[str]) -> None:
    with pytest.raises(BadValue) as refused:
        load_settings(_env(tmp_path, text))
    assert "config.toml" in refused.value.sentence
    told = f"{refused.value.sentence} {next_step_words(refused.value.next_step)}"
    assert [word for word in said if word not in told] == []


def test_a_bad_variable_is_refused_by_its_name() -> None:
    with pytest.raises(BadValue, match=r"TEACHEST_PORT: port cannot be “many”\. It may be a whole number"):
        load_settings({"TEACHEST_PORT": "many"})


def test_a_file_asked_for_by_name_must_be_there_and_be_text(tmp_path: Path) -> None:
    with pytest.raises(BadValue, match=r"no settings file .*absent\.toml"):
        load_settings({"TEACHEST_CONFIG": str(tmp_path / "absent.toml")})
    with pytest.raises(BadValue, match="cannot be read"):
        load_settings({"TEACHEST_CONFIG": str(tmp_path)})
    (tmp_path / "latin.toml").write_bytes(b'surveyor = "Ren\xe9"\n')
    with pytest.raises(BadValue, match="not UTF-8"):
        load_settings({"TEACHEST_CONFIG": str(tmp_path / "latin.toml")})


def test_every_setting_says_what_it_may_be() -> None:
    assert [(setting.name, setting.variable) for setting in list_settings()] == [
        ("surveyor", "TEACHEST_SURVEYOR"),
        ("paper", "TEACHEST_PAPER"),
        ("port", "TEACHEST_PORT"),
        ("kind", "TEACHEST_KIND"),
    ]
    assert all(setting.allowed for setting in list_settings())


def test_the_sample_photos_are_found_in_the_repository() -> None:
    assert get_sample_photos_dir() == Path(__file__).resolve().parents[2] / "sample_photos"


def test_the_sample_photos_are_found_in_an_installed_copy(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    installed = tmp_path / "site-packages" / "survey"
    (installed / "data" / "sample_photos").mkdir(parents=True)
    monkeypatch.setattr("survey.settings.__file__", str(installed / "settings.py"))
    assert get_sample_photos_dir() == installed / "data" / "sample_photos"


def test_a_copy_without_sample_photos_says_so(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr("survey.settings.__file__", str(tmp_path / "survey" / "settings.py"))
    with pytest.raises(ToolMissing, match="sample photos"):
        get_sample_photos_dir()
