"""Questions to a public web service: asked again where that may help, one sentence where it does not."""

from __future__ import annotations

import logging
import math
from collections.abc import Callable
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from time import sleep
from typing import Any, TypeVar

from moistsim.core.errors import Fix, Problem
from moistsim.weather.checks import WeatherError

TRIES = 4
"""Most times that a question is asked."""
FIRST_WAIT = 1.0
"""Wait before the second try, s. Each further wait is twice as long."""
LONGEST_WAIT = 120.0
"""Longest wait that a service may ask for, s. Beyond it, the person decides."""
_PASSES = (408, 429, 500, 502, 503, 504)
"""Statuses of HTTP that may pass: too slow, too many questions, and errors of the service."""
_LATER_OR_FILE = "Try again later, or use a weather file"
_SHOWN = 160
"""Characters of a service's own words that a sentence shows."""

_T = TypeVar("_T")


class NoAnswerError(WeatherError):
    """A question that a service does not answer, in one sentence."""


class UnreadableError(Exception):
    """An answer that cannot be read: what arrived, as a phrase."""


def answer_to(ask: Callable[[], _T], origin: str, timeout: float, covered: str) -> _T:
    """Ask a service, and again after a wait if the failure may pass.

    Parameters
    ----------
    ask : callable
        Asks once. It raises an error of `requests`, or one of reading: `UnreadableError`, ValueError,
        KeyError or TypeError.
    origin : str
        The service, for errors.
    timeout : float
        Longest wait for an answer, s, for the sentence.
    covered : str
        What may be asked for, as a noun phrase, for a refusal.

    Raises
    ------
    NoAnswerError
        If there is none, in one sentence with what arrived.
    WeatherError
        If the service refuses this question, such as a place at sea. It is not asked again.
    """
    # Imported here because the package starts without it.
    import requests

    found: str
    fix: str
    wait = FIRST_WAIT
    for left in reversed(range(TRIES)):
        pause = wait
        try:
            return ask()
        except requests.Timeout:
            found = f"no answer within {timeout:g} s"
            fix = Fix("Try again later, with a longer timeout, or use a weather file")
        except requests.HTTPError as error:
            status = None if error.response is None else error.response.status_code
            found = f"the service refuses ({_words(error)})"
            fix = covered
            if status in _PASSES:
                found = f"the service cannot answer now ({_words(error)})"
                fix = Fix("Try again later")
                pause = max(wait, _asked_for(error.response))
            if status not in _PASSES:
                raise WeatherError(origin, None, Problem(found), fix) from None
            if pause > LONGEST_WAIT:
                found += f" and asks to wait {pause:.0f} s"
                raise NoAnswerError(origin, None, Problem(found), fix) from None
        except requests.exceptions.ChunkedEncodingError:
            found, fix = "the answer breaks off", Fix("Try again later")
        except requests.exceptions.ContentDecodingError:
            found, fix = (
                "the answer is packed in a way that it does not state",
                Fix("Try again later"),
            )
        except requests.ConnectionError as error:
            if "aborted" not in str(error):
                # A computer that is offline stays so for a while.
                fix = Fix("Connect this computer to the internet, or use a weather file")
                raise NoAnswerError(origin, None, Problem("no connection"), fix) from None
            found, fix = "the connection ends without an answer", Fix("Try again later")
        except UnreadableError as error:
            found, fix = f"cannot read the answer: {_cut(str(error))}", Fix(_LATER_OR_FILE)
        except (KeyError, TypeError, ValueError) as error:
            text = f"{type(error).__name__}: {_cut(str(error))}"
            found, fix = f"cannot read the answer ({text})", Fix(_LATER_OR_FILE)
        if left:
            logging.getLogger("moistsim").warning(
                "%s: %s. Asking again in %.0f s.", origin, found, pause
            )
            sleep(pause)
            wait *= 2.0
    raise NoAnswerError(origin, None, Problem(f"{found}, in {TRIES} tries"), fix)


def _words(error: Any) -> str:
    """A refusal in the service's own words, after its status if that is known."""
    response = error.response
    text = str(error)
    if response is not None:
        text = f"HTTP {response.status_code}"
        try:
            said = _said(response.json())
        except ValueError:
            said = ""
        text += f": {said}" if said else ""
    return _cut(text).rstrip(". ")


def _said(answer: Any) -> str:
    """The message in an error's JSON, wherever services put it."""
    if isinstance(answer, dict):
        for key in ("messages", "message", "detail", "msg", "header"):
            if answer.get(key):
                return _said(answer[key])
        return ""
    if isinstance(answer, list):
        return "; ".join(filter(None, map(_said, answer)))
    return str(answer)


def _cut(text: str) -> str:
    text = " ".join(text.split())
    return text if len(text) <= _SHOWN else f"{text[:_SHOWN]}…"


def _asked_for(response: Any) -> float:
    """Wait that a service asks for in its header Retry-After, s: a number, or a date."""
    given = response.headers.get("Retry-After", "").strip()
    try:
        return max(float(given), 0.0) if math.isfinite(float(given)) else 0.0
    except ValueError:
        pass
    try:
        until = parsedate_to_datetime(given)
    except ValueError:
        return 0.0
    if until.tzinfo is None:
        until = until.replace(tzinfo=UTC)
    return max((until - datetime.now(UTC)).total_seconds(), 0.0)
