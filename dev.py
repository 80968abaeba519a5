"""Makes the environment and runs the chores: ``python3 dev.py demo|docs|test|lint|bench|fuzz|proof|format|lock``.

Standard library only, and written so that an old Python can still read it far enough to say what is wrong.
The environment is `.venv` beside this file. It is stamped, as the very last step, with a hash of everything it was
made from; a run that finds its own stamp starts at once, and anything else (older lock, moved folder, a first run
that was interrupted) makes it anew.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
STAMP = VENV / "wetrun-stamp"
LOCK = ROOT / "requirements.lock"
OLDEST = (3, 11)
NEWER_NAMES = ("python3.14", "python3.13", "python3.12", "python3.11")

# Each step is what follows `python`. Edit the lists; nothing else needs to know.
DEMO = [
    ["demo/make_logs.py"],
    ["-m", "wetrun", "plan", "demo/season.toml", "--out", "out/demo"],
    ["-m", "wetrun", "loads", "demo/season.toml", "--out", "out/demo"],
    ["-m", "wetrun", "prove", "demo/wetrun.toml", "--out", "out/demo"],
    ["-m", "wetrun", "changeover", "demo/changeover.toml", "--out", "out/demo"],
]
TEST = [
    ["-m", "pytest", "-n", "auto"],
]
TEST_POSTGRES = [
    # What leans on the database: locks, leases, constraints, order, its backup. REST="tests/shop" takes all of it, and
    # `make load` kills the server on both databases.
    ["tools/with_postgres.py", "-m", "pytest", "-n", "auto",
     *(f"tests/shop/test_{name}.py" for name in (
         "jobs_lease", "jobs_model", "jobs_worker", "jobs_processes", "readings", "backup", "uploads",
         "wet_run_entry", "wet_run_rows", "season_files", "customers", "board", "parts", "accounts_people",
         "links", "intake", "proofs_page", "fills_pages",
     ))],
]  # fmt: skip
LINT = [
    ["-m", "ruff", "format", "--check", "."],
    ["-m", "ruff", "check", "."],
    ["-m", "mypy"],
    ["-c", "from importlinter.cli import lint_imports_command as arrows; arrows()"],
    ["tools/third_party.py", "--check"],
]
BENCH = [
    ["-m", "bench"],
    ["-m", "bench.exact_replay"],
]
FUZZ = [
    ["-m", "fuzz"],
]
PROOF = [
    ["-m", "proof.catch_power"],
    ["-m", "proof.crosscheck_power"],
    ["-m", "proof.replay_lag"],
    ["-m", "proof.turning"],
]
DOCS = [
    ["-m", "tools.docs_site"],
]
RUN = [
    ["-m", "tools.docs_site", "--if-stale"],
    ["-m", "wetrun", "serve", "--data", "out/shop", "--demo"],
]
LOAD = [
    ["-m", "load"],
]
FORMAT = [
    ["-m", "ruff", "format", "."],
    ["-m", "ruff", "check", "--fix", "."],
]
CHORES = {
    "demo": DEMO, "docs": DOCS, "run": RUN, "test": TEST, "test-postgres": TEST_POSTGRES, "lint": LINT, "bench": BENCH,
    "fuzz": FUZZ, "proof": PROOF, "load": LOAD, "format": FORMAT,
}  # fmt: skip
# Programs that some tests need: the names one goes by, what is lost without it, and the package that brings it.
PROGRAMS = [
    (("chromium", "chromium-browser"), "no page is tried in a real browser", "chromium"),
]
LOCK_OPTIONS = [
    *("--extra", "dev", "--universal", "--python-version", "3.11", "--fork-strategy", "fewest"),
    *("--generate-hashes", "--no-emit-index-url", "--no-annotate", "--no-header"),
]


def main() -> int:
    """Run one chore and return its exit code."""
    parser = argparse.ArgumentParser(prog="dev.py", description="Wetrun's chores. The first one makes .venv.")
    parser.add_argument("chore", choices=[*CHORES, "setup", "lock"], help="what to do")
    parser.add_argument("rest", nargs=argparse.REMAINDER, help="handed to the chore's last step")
    asked = parser.parse_args()
    use_new_enough_python()
    if asked.chore == "lock":
        return relock()
    make_environment()
    if asked.chore == "setup":
        return 0
    if asked.chore == "test":
        say_what_is_missing()
    steps = [list(step) for step in CHORES[asked.chore]]
    steps[-1] += asked.rest
    if asked.chore == "run" and os.name == "posix":
        run_steps(steps[:-1], to_the_end=True)  # without its docs a shop runs too, and says so
        become(steps[-1])
    return run_steps(steps, to_the_end=asked.chore == "lint")


def use_new_enough_python() -> None:
    """Go on under a newer Python if this one is too old and a newer one is on the PATH."""
    if sys.version_info[:2] >= OLDEST:
        return
    newer = next((found for found in map(shutil.which, NEWER_NAMES) if found), None)
    if newer is None:
        found = ".".join(map(str, sys.version_info[:3]))
        sys.exit(f"Wetrun needs Python 3.11 or newer; this is {found}. Install a newer one, or name it: make PYTHON=…")
    os.execv(newer, [newer, *sys.argv])


def say_what_is_missing() -> None:
    """Say which programs some tests need and do not find here; they are skipped at a desk and fail where CI runs."""
    for names, lost, remedy in PROGRAMS:
        if not any(map(shutil.which, names)):
            say(f"Not here: {names[0]}, so {lost} (Debian and Ubuntu: apt install {remedy}).")


def python_inside() -> Path:
    """Return the path of the environment's own Python."""
    return VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def fingerprint() -> str:
    """Return a hash of all the environment is made from: lock, project file, Python, and this folder's place."""
    digest = hashlib.sha256()
    for part in (
        LOCK.read_bytes(),
        (ROOT / "pyproject.toml").read_bytes(),
        sys.version.encode(),
        os.fsencode(ROOT),  # the editable install and the scripts hold absolute paths
    ):
        digest.update(hashlib.sha256(part).digest())
    return digest.hexdigest()


def make_environment() -> None:
    """Make `.venv` unless the one that is there carries the right stamp."""
    wanted = fingerprint()
    if python_inside().exists() and STAMP.is_file() and STAMP.read_text() == wanted:
        return
    say("Making the environment in .venv (once; a few minutes on a slow line) …")
    remove_environment()
    create_environment()
    pip("install", "-qq", "--require-hashes", "--requirement", str(LOCK))
    pip("install", "-qq", "--no-deps", "--no-build-isolation", "--no-index", "--editable", str(ROOT))
    STAMP.write_text(wanted)  # last: without it the next run starts over


def remove_environment() -> None:
    """Remove what is left of an environment made from something else."""
    try:
        if VENV.is_symlink() or VENV.is_file():
            VENV.unlink()
        elif VENV.exists():
            STAMP.unlink(missing_ok=True)
            shutil.rmtree(VENV)
    except OSError as problem:
        sys.exit(f"The old environment {VENV} cannot be removed ({problem.strerror}). Remove it by hand.")


def create_environment() -> None:
    """Create an empty environment with pip in it."""
    try:
        made = subprocess.run([sys.executable, "-m", "venv", str(VENV)], env=clean_environ(), check=False)
    except OSError as problem:
        sys.exit(f"The environment {VENV} cannot be made: {problem.strerror}.")
    if made.returncode != 0:
        sys.exit(
            f"{sys.executable} cannot make an environment in {VENV}. If it says that venv, ensurepip or pip is "
            "missing, install it (Debian and Ubuntu: apt install python3-venv), then run again. If it says that "
            "the folder cannot be written, use a clone that is yours."
        )


def pip(*arguments: str) -> None:
    """Run the environment's pip, or stop with a sentence."""
    done = subprocess.run([str(python_inside()), "-m", "pip", *arguments], env=clean_environ(), check=False)
    if done.returncode != 0:
        sys.exit(
            "pip could not install what Wetrun is pinned to (its own words are above). Check the network and the disk, "
            "then run the same command again; a half-made environment is made anew."
        )


def clean_environ() -> dict[str, str]:
    """Return the caller's environment without what would let another Python's packages in."""
    environ = {name: value for name, value in os.environ.items() if name not in {"PYTHONPATH", "PYTHONHOME"}}
    environ["PIP_DISABLE_PIP_VERSION_CHECK"] = "1"
    environ["PIP_USER"] = "0"
    return environ


def become(step: list[str]) -> None:
    """Become the last step: Ctrl-C then reaches it alone, and it ends in its own time."""
    say("$ python " + " ".join(step))
    os.chdir(ROOT)
    os.execve(python_inside(), [str(python_inside()), *step], clean_environ())


def run_steps(steps: list[list[str]], *, to_the_end: bool) -> int:
    """Run the steps in order and return the first exit code that is not 0; stop there unless `to_the_end`."""
    first_bad = 0
    for step in steps:
        say("$ python " + " ".join(step))
        done = subprocess.run([str(python_inside()), *step], cwd=ROOT, env=clean_environ(), check=False)
        first_bad = first_bad or done.returncode
        if first_bad and not to_the_end:
            break
    return first_bad


def relock() -> int:
    """Make the lock anew with uv, and refuse one that names where the packages came from."""
    uv = shutil.which("uv")
    if uv is None:
        sys.exit("Making the lock needs uv on the PATH (install it in an environment of its own).")
    asked = [uv, "pip", "compile", "pyproject.toml", *LOCK_OPTIONS, "--output-file", str(LOCK)]
    done = subprocess.run(asked, cwd=ROOT, check=False, stdout=subprocess.DEVNULL)
    if done.returncode == 0 and any(word in LOCK.read_text().lower() for word in ("://", "index-url", "find-links")):
        sys.exit(f"{LOCK.name} names a registry; it must not. Take the address out of uv's settings and run again.")
    return done.returncode


def say(sentence: str) -> None:
    """Print at once, so that the order holds when the steps' own output goes to a file."""
    print(sentence, flush=True)


if __name__ == "__main__":
    try:
        sys.exit(main())
    except KeyboardInterrupt:
        sys.exit(130)
