"""One command from its words to its exit code: whatever goes wrong becomes a sentence and a number.

0 done; 1 findings, or a refusal that is itself a result; 2 the words are off; 3 input or a disk
that cannot be used; 70 a fault of the program; 130 stopped with Ctrl-C.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

from assess.cli.say import complain, settle, show_json
from assess.desk.last_words import flushed, silence

if TYPE_CHECKING:
    from assess.records.errors import AssessError

__all__ = ["BUG", "run"]

BUG = 70
_NO_INPUT = 3


def run(words: Sequence[str]) -> int:
    """Run the command these words ask for; returns the exit code, never raises."""
    try:
        code = _invoke(words)
        if not flushed(sys.stdout, sys.stderr) and not code:
            return _NO_INPUT
    except BrokenPipeError:
        # Whoever reads has seen enough: nothing is wrong, and nothing more can be said there.
        silence(sys.stdout)
        return 0
    except KeyboardInterrupt:
        complain("stopped")
        return 130
    except OSError as error:
        named = f"{error.filename}: " if isinstance(error.filename, str) else ""
        complain(f"{named}{error.strerror or 'the system refused'}; look at the disk and its rights, then try again")
        return _NO_INPUT
    except ImportError as error:
        return _library(error)
    except Exception as error:
        return _fault(error)
    return code


def _invoke(words: Sequence[str]) -> int:
    import typer

    from assess.cli.app import command
    from assess.records.errors import AssessError

    settle()
    try:
        asked = None if "_ASSESS_COMPLETE" in os.environ else words
        code = command(asked).main(args=list(words), prog_name="assess", standalone_mode=False)
    except SystemExit as left:
        # A pipe that breaks under its hands makes click end the process with 1.
        if isinstance(left.__context__, BrokenPipeError):
            raise left.__context__ from None
        raise
    except typer.Abort:
        complain("nothing was chosen")
        return 130
    except AssessError as error:
        return _told(error, wants_json(words))
    except Exception as error:
        # What typer raises for words that are off comes from inside it, or from click where that stands alone.
        if hasattr(error, "format_message"):
            return _usage(error)
        raise
    return code if isinstance(code, int) else 0


def wants_json(words: Sequence[str]) -> bool:
    """True when the words ask for one JSON document instead of text."""
    options = words[: words.index("--")] if "--" in words else words
    return "--json" in options


def _usage(error: Exception) -> int:
    """Say which word is off and where the help is; a bare command gets its help."""
    context = getattr(error, "ctx", None)
    path = context.command_path if context is not None else "assess"
    message = str(getattr(error, "format_message", lambda: str(error))()).strip().replace("Value error, ", "")
    if type(error).__name__ == "NoArgsIsHelpError":
        complain(message)
    else:
        complain(f"{path}: {message.rstrip('.')}; see `{path} --help`")
    return 2


def _told(error: AssessError, as_json: bool) -> int:
    """Tell an error of the work: every problem of a file, or one sentence; a refusal is a result of its own."""
    from assess.records.errors import InputError, Refusal

    if isinstance(error, InputError):
        for problem in error.problems:
            complain(str(problem))
        return error.exit_code
    if isinstance(error, Refusal) and as_json:
        show_json({"refused": {"what": error.what, "where": error.where, "todo": error.todo}})
    complain(error.sentence)
    return error.exit_code


def _library(error: ImportError) -> int:
    """Tell of somebody else's library that is missing or cannot run here; one of ours is a fault of the program."""
    named = (error.name or "").split(".")[0]
    if named == "assess":
        return _fault(error)
    which = f"the library {named}" if named else "a library"
    reason = " ".join(str(error).split())[:200]
    complain(f"{which} this needs cannot be used here ({reason}); installing assess anew in a fresh venv mends it")
    return _NO_INPUT


def _fault(error: Exception) -> int:
    """Keep a report without anybody's data, and say where it is."""
    from assess.desk.crash import crash_lines, keep_crash

    complain("this is a fault of the program, not of what you typed; nothing that was saved is lost")
    try:
        complain(f"what happened is kept in {keep_crash(error)}; it holds no names, texts or levels")
    except OSError:
        complain("the report could not be kept in a file; it holds no names, texts or levels:")
        complain("\n".join(crash_lines(error)))
    return BUG
