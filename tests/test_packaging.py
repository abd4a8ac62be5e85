"""The package as others get it: source archive, wheel, and an installation away from the checkout."""

import os
import subprocess
import sys
import sysconfig
import tarfile
import venv
import zipfile
from pathlib import Path

import pytest

from tagmaker.telling.wording import packaged_templates

pytestmark = pytest.mark.slow

SHEET = "lot,crop,variety,form,cut,stage,stems\n041,tulip,Mended Sail,single,2027-03-01T09:00,tight,40\n"


@pytest.fixture(scope="module")
def archives(repository: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A source archive, and the wheel that was built from it."""
    folder = tmp_path_factory.mktemp("dist")
    build = [sys.executable, "-m", "build", "--no-isolation", "--outdir", str(folder), str(repository)]
    subprocess.run(build, check=True, capture_output=True)
    (archive,), (wheel,) = folder.glob("*.tar.gz"), folder.glob("*.whl")
    return archive, wheel


@pytest.fixture(scope="module")
def installed(archives: tuple[Path, Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The `bin` folder of a fresh environment with the wheel, which borrows our dependencies."""
    home = tmp_path_factory.mktemp("fresh") / "environment"
    venv.create(home, with_pip=False)
    pip = [
        sys.executable,
        "-m",
        "pip",
        "--python",
        str(home),
        "install",
        "--quiet",
        "--no-deps",
        "--no-index",
    ]
    subprocess.run([*pip, str(archives[1])], check=True, capture_output=True)
    (site_packages,) = home.glob("lib/python*/site-packages")
    # Paths named in a .pth are searched, but .pth files found there are not read: an editable
    # tagmaker of the environment that runs the tests stays out of sight.
    borrowed = {sysconfig.get_path("purelib"), sysconfig.get_path("platlib")}
    (site_packages / "borrowed.pth").write_text("\n".join(sorted(borrowed)), encoding="utf-8")
    return home / "bin"


def run(command: list[str], folder: Path) -> str:
    """What a command prints that runs in a folder and sees no path of ours."""
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    done = subprocess.run(
        command, cwd=folder, env=environment, capture_output=True, text=True, encoding="utf-8", check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def template_names(repository: Path) -> set[str]:
    """The template files of the checkout."""
    return {
        str(path.relative_to(repository)) for path in (repository / "templates").rglob("*") if path.is_file()
    }


def test_an_editable_installation_finds_the_templates(repository: Path) -> None:
    """In a checkout the templates stand beside the package, where they are edited."""
    assert packaged_templates() == repository / "templates"


def test_the_wheel_has_the_templates_and_nothing_beside_the_package(
    repository: Path, archives: tuple[Path, Path]
) -> None:
    """Templates lie inside the package; the tests and the demo stay out of a user's environment."""
    names = set(zipfile.ZipFile(archives[1]).namelist())
    assert {f"tagmaker/{name}" for name in template_names(repository)} <= names
    assert {"tagmaker/storage/crops.csv", "tagmaker/py.typed"} <= names
    assert {name.split("/")[0].split("-")[0] for name in names} == {"tagmaker"}
    assert [name for name in names if name.endswith("licenses/LICENSE")] != []


def test_the_source_archive_has_all_it_takes_to_test(repository: Path, archives: tuple[Path, Path]) -> None:
    """Templates, tests and demo travel with the source."""
    with tarfile.open(archives[0]) as archive:
        names = {name.partition("/")[2] for name in archive.getnames()}
    wanted = {
        "pyproject.toml",
        "README.md",
        "DEVELOPERS.md",
        "LICENSE",
        "tests/conftest.py",
        "demo_lots/lots.csv",
    }
    assert wanted | template_names(repository) <= names


def test_the_installed_command_renders_in_another_folder(
    repository: Path, installed: Path, tmp_path: Path
) -> None:
    """From the wheel alone, in a folder that has only a sheet, all three papers come out."""
    (tmp_path / "lots.csv").write_text(SHEET, encoding="utf-8")
    where = run([str(installed / "python"), "-c", "import tagmaker; print(tagmaker.__file__)"], tmp_path)
    assert installed.parent in Path(where).parents
    assert repository not in Path(where).parents
    run([str(installed / "tagmaker"), "papers", "lots.csv", "--today", "2027-03-02T09:00"], tmp_path)
    papers = {path.name: path.read_bytes()[:8] for path in (tmp_path / "papers").iterdir()}
    assert papers == {
        "wrap-labels.pdf": b"%PDF-1.7",
        "crate-cards.pdf": b"%PDF-1.7",
        "cooler-checklist.pdf": b"%PDF-1.7",
    }


def test_the_installed_package_helps_and_starts_a_season(installed: Path, tmp_path: Path) -> None:
    """From the wheel the reference can be read, and a season begun whose own sheet can be dated at once."""
    python = str(installed / "python")
    assert run([python, "-m", "tagmaker", "help", "sheet"], tmp_path).startswith("The lot sheet\n")
    run([python, "-m", "tagmaker", "start", "season"], tmp_path)
    sheet = str(tmp_path / "season" / "lots.xlsx")
    assert run([python, "-m", "tagmaker", "dates", sheet, "--today", "2027-03-02"], tmp_path) != ""
