"""The one client: every request of the program goes through ``Fetcher``, and each has an outcome in one sentence.

A request ends as a ``Reply`` or as a ``ServiceError`` (a ``SourceError``); no other error leaves this module. Checked
in this order: status, emptiness, content type, first character, whether it is JSON at all. Only answers that pass are
kept in the cache.
"""

from __future__ import annotations

import json
import random
import re
import ssl
import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from functools import cached_property, lru_cache
from pathlib import Path

import httpx

from briefing import __version__
from briefing.core.gathered import RequestRecord
from briefing.errors import InputError, SourceError
from briefing.sources.bodies import TwiceNamedError, parse_json
from briefing.sources.cache import Cache, Stored
from briefing.sources.clocks import LIMIT as CLOCK_LIMIT
from briefing.sources.clocks import Clocks
from briefing.sources.shared import Shared
from briefing.sources.urls import BaseUrls, without_secrets

PROGRAM = "lake-morning-briefing"
BODY_LIMIT_BYTES = 5_000_000
CONNECT_S, READ_S, SOURCE_S, STAGE_S = 5.0, 15.0, 45.0, 180.0
TRIES = 3
WAITS_S = (2.0, 5.0)
LONGEST_WAIT_S = 60.0
KEEP_FILES = timedelta(days=14)
_RETRY_STATUS = frozenset({429, 500, 502, 503, 504})
#: Codes of a ``Warning`` header for a copy past its time (RFC 7234, 5.5): stale, not confirmed, cut off, by guess.
_STALE = re.compile(r"(?:^|,)\s*11[0-3]\b", re.ASCII)
_GRID_PROBLEMS = frozenset({"ForecastGridExpired", "ForecastMissingData"})  # last for hours: asking again doesn't help


class ServiceError(SourceError):
    """A request that gave nothing usable. ``problem`` is the service's own word for it, such as ``InvalidPoint``."""

    def __init__(
        self, message: str, *, retryable: bool = False, status: int | None = None, problem: str = "", size: int = 0
    ) -> None:
        super().__init__(message, retryable=retryable)
        self.status = status
        self.problem = problem
        self.size = size
        self.wait_s: float | None = None


@dataclass(frozen=True)
class Reply:
    """A usable body. ``retrieved_at`` is when the body came down, ``checked_at`` when the service last confirmed it."""

    url: str
    body: bytes
    content_type: str
    retrieved_at: datetime
    checked_at: datetime
    from_cache: bool = False
    etag: str = ""
    last_modified: str = ""
    age_s: float = 0.0  # how long a front cache says that it has held the body
    note: str = ""

    @property
    def held_since(self) -> datetime:
        """The latest instant at which the service itself can have given this body, by what its front cache says."""
        return self.retrieved_at - timedelta(seconds=self.age_s)

    @property
    def made_by(self) -> datetime:
        """The latest instant at which a body without a time of its own can have been made, by all of its headers."""
        changed = _http_date(self.last_modified)
        return self.held_since if changed is None else min(self.held_since, changed)


@dataclass(frozen=True)
class Ask:
    """One request. ``keep_for`` lets a stored body answer alone; ``store`` keeps a good answer.

    ``fresh`` wants a new one whatever is stored. ``share_for``: an answer to another lake of the same round serves this
    one so long, even where ``fresh`` wants a new one.
    expect: ``json`` or ``text``. ``empty_ok``: an empty body is an answer ("nothing to report"), not a failure.
    """

    url: str
    params: Mapping[str, str] = field(default_factory=dict)
    headers: Mapping[str, str] = field(default_factory=dict)
    expect: str = "json"
    empty_ok: bool = False
    keep_for: timedelta | None = None
    store: bool = True
    fresh: bool = False
    share_for: timedelta | None = None

    @cached_property
    def full_url(self) -> str:
        """Address with its parameters, sorted as given; also the key of the cache."""
        if not self.params:
            return self.url
        return str(httpx.URL(self.url, params=dict(self.params)))


#: Is told the name of a source, and whether it is done with.
Progress = Callable[[str, bool], None]


def _untold(_name: str, _done: bool) -> None:
    pass


class Fetcher:
    """Synchronous client with retries, cache, time limits and a budget of requests; used from several threads.

    Raises InputError when ``contact`` is empty: two of the services refuse callers who don't name one. ``clock`` gives
    aware UTC instants. ``budget`` is the most requests over the network in one run. ``shared`` is what the lakes of a
    round have in common. ``sleep``, ``jitter`` (0..1) and ``monotonic`` are replaced in tests.
    ``progress`` is told a source's name when it is asked (False) and when it has answered or been given up
    (True), from the thread that asks.
    """

    def __init__(
        self,
        contact: str,
        urls: BaseUrls,
        cache_dir: Path | None,
        clock: Callable[[], datetime],
        budget: int = 60,
        transport: httpx.BaseTransport | None = None,
        sleep: Callable[[float], None] = time.sleep,
        jitter: Callable[[], float] = random.random,
        monotonic: Callable[[], float] = time.monotonic,
        shared: Shared | None = None,
        progress: Progress | None = None,
    ) -> None:
        contact = " ".join(contact.split())
        if not contact or not contact.isprintable() or not contact.isascii():
            raise InputError(
                "No contact is set. The weather services refuse callers without one: put your mail address (plain "
                "letters) into the setting 'contact'; it is sent to the services in the User-Agent line, nowhere else."
            )
        self.urls = urls
        self.user_agent = f"{PROGRAM}/{__version__} ({contact})"
        self.clock = clock
        self.cache = Cache(cache_dir)
        self._budget = budget
        self._sleep, self._jitter, self._monotonic = sleep, jitter, monotonic
        self._started = monotonic()
        self._records: list[RequestRecord] = []
        self._lock = threading.Lock()
        self._used = 0
        self.shared = shared
        self.progress: Progress = progress or _untold
        self.clocks = Clocks() if shared is None else shared.clocks
        self._transport = transport
        self._client = self._new_client() if shared is None else shared.client(self._new_client)
        if shared is None or not shared.pruned:
            self.cache.prune(clock(), KEEP_FILES)
        if shared is not None:
            shared.pruned = True

    def _new_client(self) -> httpx.Client:
        return httpx.Client(
            headers={"User-Agent": self.user_agent},
            verify=_trusted(),
            timeout=httpx.Timeout(READ_S, connect=CONNECT_S),
            follow_redirects=True,
            max_redirects=5,
            transport=self._transport,
        )

    def __enter__(self) -> Fetcher:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Close the connections, unless they belong to the round."""
        if self.shared is None:
            self._client.close()

    @property
    def requests(self) -> tuple[RequestRecord, ...]:
        """All requests so far, sorted by service and address (threads finish in any order)."""
        with self._lock:
            return tuple(sorted(self._records, key=lambda record: (record.service, record.url, record.outcome)))

    @property
    def notes(self) -> tuple[str, ...]:
        """What was noticed about the cache."""
        return tuple(sorted(self.cache.notes))

    def source(self, name: str) -> Source:
        """Start the time limit of one source; ``name`` is how the reader knows it ("NWS grid")."""
        return Source(self, name, self._monotonic() + SOURCE_S)

    def stage_left_s(self) -> float:
        """Seconds left of the whole stage."""
        return STAGE_S - (self._monotonic() - self._started)

    def restart_stage(self) -> None:
        """Start the stage's time limit anew; called at the start of each gathering."""
        self._started = self._monotonic()

    def _spend(self, name: str) -> None:
        with self._lock:
            if self._used >= self._budget:
                raise ServiceError(f"{name}: not asked, the budget of {self._budget} requests is used up.")
            self._used += 1

    def _record(self, record: RequestRecord) -> None:
        with self._lock:
            self._records.append(record)


@lru_cache(maxsize=1)
def _trusted() -> ssl.SSLContext:
    """The certificates that are trusted, read once a process: it takes as long as a request."""
    return httpx.create_ssl_context()


class Source:
    """Requests of one source under its time limit; make one a thread with ``Fetcher.source``."""

    def __init__(self, fetcher: Fetcher, name: str, deadline: float) -> None:
        self.fetcher = fetcher
        self.name = name
        self._deadline = deadline

    def stored(self, ask: Ask) -> Reply | None:
        """Return the stored body of a request, whatever its age; nothing is sent."""
        kept = self.fetcher.cache.load(ask.full_url)
        return None if kept is None else _reply_of(kept, kept.retrieved_at)

    def keep(self, reply: Reply) -> None:
        """Keep a good body in the cache (used with ``store=False`` when the caller decides)."""
        self.fetcher.cache.save(
            Stored(
                reply.url,
                reply.body,
                reply.content_type,
                reply.etag,
                reply.last_modified,
                reply.retrieved_at,
                reply.age_s,
            )
        )

    def get(self, ask: Ask) -> Reply:
        """Return a usable body or raise ServiceError with one clear sentence; either way the request is recorded."""
        url = ask.full_url
        now, shared = self.fetcher.clock(), self.fetcher.shared
        held = None if shared is None or ask.share_for is None else shared.held(url, now)
        if held is not None:
            self._note(ask, 200, f"{self.name}: read a moment ago.", held, 0, 0.0)
            return held
        kept = None if ask.fresh else self.fetcher.cache.load(url)
        if kept is not None and self.serves(ask, now - kept.retrieved_at):
            reply = _reply_of(kept, kept.retrieved_at)
            self._note(ask, 200, f"{self.name}: stored copy of {_hour(kept.retrieved_at)} used.", reply, 0, 0.0)
            return reply
        self.fetcher.progress(self.name, False)
        try:
            return self._ask_network(ask, kept)
        finally:
            self.fetcher.progress(self.name, True)

    def get_whole(self, ask: Ask, whole: Callable[[bytes], bool]) -> Reply:
        """Return a body as ``get`` does, but keep none that lacks something, and let no such stored one serve."""
        reply = self.get(replace(ask, store=False))
        if reply.from_cache and not whole(reply.body):
            reply = self.get(replace(ask, store=False, fresh=True))
        if not reply.from_cache and whole(reply.body):
            self.keep(reply)
        return reply

    def serves(self, ask: Ask, age: timedelta) -> bool:
        """Tell whether a stored body of this age answers alone."""
        limits = [ask.keep_for, ask.share_for if self.fetcher.shared is not None else None]
        return any(limit is not None and timedelta(0) <= age <= limit for limit in limits)

    def _ask_network(self, ask: Ask, kept: Stored | None) -> Reply:
        began, shared = self.fetcher._monotonic(), self.fetcher.shared
        tries = 0
        while True:
            tries += 1
            try:
                refusal = None if shared is None else shared.refusal(self.name)
                if refusal is not None:
                    raise ServiceError(str(refusal), status=429, problem=refusal.problem)
                status, reply = self._attempt(ask, kept)
            except ServiceError as error:
                wait = self._wait_before_next(error, tries)
                if wait is not None:
                    self._deadline += wait  # waiting as told does not eat the source's time, only the stage's
                    self.fetcher._sleep(wait)
                    continue
                sent = tries if refusal is None else tries - 1
                self._note(ask, error.status, str(error), None, sent, began, size=error.size)
                if shared is not None and refusal is None:
                    shared.failed(self.name, error)
                raise
            word = "unchanged, stored copy used" if status == 304 else "read"
            self._note(ask, status, f"{self.name}: {word}.", reply, tries, began)
            if ask.store and status != 304:
                self.keep(reply)
            if shared is not None:
                shared.worked(self.name)
                if ask.fresh and ask.share_for is not None:
                    shared.hold(reply, ask.share_for)
            return reply

    def _attempt(self, ask: Ask, kept: Stored | None) -> tuple[int, Reply]:
        left = min(self._deadline - self.fetcher._monotonic(), self.fetcher.stage_left_s())
        if left <= 0.0:
            raise ServiceError(f"{self.name}: given up, the time limit was reached.")
        self.fetcher._spend(self.name)
        headers = {"Accept": "application/json" if ask.expect == "json" else "text/plain", **ask.headers}
        if kept is not None:
            headers |= {"If-None-Match": kept.etag} if kept.etag else {}
            headers |= {"If-Modified-Since": kept.last_modified} if kept.last_modified else {}
        timeout = httpx.Timeout(min(READ_S, left), connect=min(CONNECT_S, left))
        try:
            with self.fetcher._client.stream("GET", ask.full_url, headers=headers, timeout=timeout) as response:
                self.fetcher.clocks.hear(str(response.url), response.headers, self.fetcher.clock())
                body = self._read(response)
        except ServiceError:
            raise
        except httpx.TimeoutException:
            raise ServiceError(f"{self.name}: no answer in time.", retryable=True) from None
        except httpx.TooManyRedirects:
            raise ServiceError(f"{self.name}: sent in circles by redirects.") from None
        except httpx.DecodingError:
            raise ServiceError(f"{self.name}: the body could not be unpacked.", retryable=True) from None
        except httpx.RemoteProtocolError:
            raise ServiceError(f"{self.name}: the connection broke off before the end.", retryable=True) from None
        except (httpx.UnsupportedProtocol, httpx.InvalidURL, UnicodeError):
            raise ServiceError(f"{self.name}: the address {without_secrets(ask.url)} can't be asked.") from None
        except (httpx.HTTPError, httpx.StreamError, OSError):
            raise ServiceError(f"{self.name}: not reached, no connection.", retryable=True) from None
        return self._judge(ask, kept, response, body)

    def _read(self, response: httpx.Response) -> bytes:
        """Read a body in pieces, so that neither its size nor its slowness is without a limit."""
        pieces, size = [], 0
        for piece in response.iter_bytes():
            size += len(piece)
            if size > BODY_LIMIT_BYTES:
                raise ServiceError(
                    f"{self.name}: the body is larger than {BODY_LIMIT_BYTES // 1_000_000} MB and was refused.",
                    status=response.status_code,
                    size=size,
                )
            if self.fetcher._monotonic() > self._deadline:
                raise ServiceError(f"{self.name}: given up, the body came too slowly.", status=response.status_code)
            pieces.append(piece)
        return b"".join(pieces)

    def _judge(self, ask: Ask, kept: Stored | None, response: httpx.Response, body: bytes) -> tuple[int, Reply]:
        now = self.fetcher.clock()
        if response.status_code == 304:
            if kept is None:
                raise ServiceError(f"{self.name}: said 'unchanged' without being asked.", status=304, retryable=True)
            return 304, _reply_of(kept, now)
        if response.status_code not in (200, 203, 204):
            raise failure_of(self.name, response.status_code, body, response.headers)
        told_s = _age_told(response.headers.get("age", ""))
        if told_s is None:
            flaw = "a copy came from a cache, and how old it is can't be read"
            raise ServiceError(f"{self.name}: {flaw}.", retryable=True, status=response.status_code, size=len(body))
        age_s = max(told_s, _age_by_date(response.headers.get("date", ""), now))
        if age_s == 0.0 and _STALE.search(response.headers.get("warning", "")):
            flaw = "a copy that its cache calls stale came, and how old it is was not said"
            raise ServiceError(f"{self.name}: {flaw}.", retryable=True, status=response.status_code, size=len(body))
        reply = Reply(
            url=ask.full_url,
            body=body,
            content_type=response.headers.get("content-type", ""),
            retrieved_at=now,
            checked_at=now,
            etag=response.headers.get("etag", ""),
            last_modified=response.headers.get("last-modified", ""),
            age_s=age_s,
        )
        flaw = body_flaw(ask.expect, reply.content_type, body, ask.empty_ok)
        if flaw:
            raise ServiceError(f"{self.name}: {flaw}.", retryable=True, status=response.status_code, size=len(body))
        return response.status_code, reply

    def _wait_before_next(self, error: ServiceError, tries: int) -> float | None:
        """Seconds to wait before another try, or None when there shall be none."""
        weary = self.fetcher.shared is not None and self.fetcher.shared.weary(self.name)
        most = 1 if weary else 2 if error.status == 429 else TRIES
        if not error.retryable or tries >= most:
            return None
        wait = WAITS_S[min(tries, len(WAITS_S)) - 1] * (0.75 + 0.5 * self.fetcher._jitter())
        if error.wait_s is not None:
            wait = error.wait_s
        return wait if wait < self.fetcher.stage_left_s() else None

    def _note(
        self, ask: Ask, status: int | None, outcome: str, reply: Reply | None, tries: int, began: float, size: int = 0
    ) -> None:
        spent = None if tries == 0 else round(1000.0 * (self.fetcher._monotonic() - began))
        self.fetcher._record(
            RequestRecord(
                service=self.name,
                url=without_secrets(ask.full_url),
                status=status,
                outcome=outcome,
                bytes=size if reply is None else len(reply.body),
                ms=spent,
                from_cache=tries == 0 or status == 304,
                tries=tries,
            )
        )


def body_flaw(expect: str, content_type: str, body: bytes, empty_ok: bool = False) -> str:
    """Return what is wrong with a body that came with a success status, or "" when it looks as it should.

    Only the shape is judged: the content type, the first character, and for JSON whether it can be read to its end.
    """
    start = body[:64].lstrip()
    if not start:
        return "" if empty_ok else "an empty body came with a success status"
    kind = content_type.partition(";")[0].strip().lower()
    if start.startswith(b"<") or kind in ("text/html", "application/xhtml+xml"):
        return "a web page came instead of data"
    if expect != "json":
        return ""
    if kind and "json" not in kind:
        return f"{kind} came instead of JSON"
    if start[:1] not in (b"{", b"["):
        return "text came instead of JSON"
    try:
        parse_json(body)
    except TwiceNamedError as error:
        return f"the body contradicts itself: {error}"
    except (ValueError, RecursionError):
        return "the body is cut off or damaged"
    return ""


def failure_of(name: str, status: int, body: bytes, headers: Mapping[str, str]) -> ServiceError:
    """Make the error for an answer with a failing status; its sentence says what to do where that is known."""
    problem, reason = _problem_words(body)
    retryable = status in _RETRY_STATUS and problem not in _GRID_PROBLEMS
    said = f" ({reason})" if reason else ""
    if status == 403:
        text = f"{name}: refused (403). Check the contact in your settings: the service may not accept it."
    elif status == 429:
        passing = not any(word in reason.lower() for word in ("daily", "hourly", "monthly", "tomorrow"))
        over = problem == "OVER_RATE_LIMIT"
        retryable = passing and (not over or "retry-after" in headers)
        text = f"{name}: not checked, too many requests from this address{said}."
    elif problem in _GRID_PROBLEMS:
        text = f"{name}: the office's forecast grid is late or has a hole{said}; it may take hours."
    elif status == 404:
        text = f"{name}: nothing there (404){said}."
    elif status >= 500:
        text = f"{name}: the service is in trouble ({status}){said}."
    else:
        text = f"{name}: the request was refused ({status}){said}."
    error = ServiceError(text, retryable=retryable, status=status, problem=problem, size=len(body))
    error.wait_s = _wait_told(status, headers)
    return error


def _wait_told(status: int, headers: Mapping[str, str]) -> float | None:
    """Seconds that a service asks to wait, at most a minute; a minute for "too many requests" without a word."""
    told = headers.get("retry-after", "").strip()
    if told.isascii() and told.isdigit():
        return min(float(told), LONGEST_WAIT_S)
    if told:
        return LONGEST_WAIT_S  # a date or nonsense: the longest wait is the polite reading
    return LONGEST_WAIT_S if status == 429 else None


def _problem_words(body: bytes) -> tuple[str, str]:
    """Take the problem's id and a short reason from an error body in any of the services' forms."""
    try:
        data = json.loads(body[:20_000])
    except (ValueError, RecursionError):
        return "", ""
    if not isinstance(data, dict):
        return "", ""
    inner = data["error"] if isinstance(data.get("error"), dict) else data
    identity = inner.get("code") or inner.get("type") or ""
    reason = inner.get("reason") or inner.get("title") or inner.get("message") or inner.get("description") or ""
    problem = identity.rstrip("/").rpartition("/")[2] if isinstance(identity, str) else ""
    words = " ".join(reason.split())[:120].rstrip(".") if isinstance(reason, str) else ""
    return problem, "".join(letter for letter in words if letter.isprintable())


def _age_told(value: str) -> float | None:
    """Seconds of an ``Age`` header, at most thirty years, 0 where there is none, None where it can't be read.

    Several caches in a row may each have written one: the largest counts.
    """
    told = [re.fullmatch(r"\s*\+?(\d+)(?:\.\d*)?\s*", one, re.ASCII) for one in value.split(",")]
    ages = [min(float(one.group(1)[:12]), 1e9) for one in told if one]
    if value.strip() and len(ages) < len(told):
        return None
    return max(ages, default=0.0)


def _age_by_date(value: str, now: datetime) -> float:
    """Seconds since an answer's date, as far as that is more than clocks and slow answers make up; else 0.

    What a cache hands out may carry the date at which it was stored, and no age.
    """
    dated = _http_date(value)
    return 0.0 if dated is None or now - dated <= CLOCK_LIMIT else (now - dated).total_seconds()


def _http_date(value: str) -> datetime | None:
    """Read the date of a header: as the rules want it, or as ISO 8601, which some programs write."""
    readers: tuple[Callable[[str], datetime], ...] = (parsedate_to_datetime, datetime.fromisoformat)
    for read in readers:
        try:
            told = read(value.strip())
            return told.replace(tzinfo=UTC) if told.tzinfo is None else told.astimezone(UTC)
        except (TypeError, ValueError, OverflowError, IndexError):
            continue
    return None


def _reply_of(kept: Stored, checked_at: datetime) -> Reply:
    return Reply(
        kept.url,
        kept.body,
        kept.content_type,
        kept.retrieved_at,
        checked_at,
        True,
        kept.etag,
        kept.last_modified,
        kept.age_s,
    )


def labelled(reply: Reply, note: str) -> Reply:
    """Return the reply with a word on how it was come by, for the origin of its values."""
    return replace(reply, note=note)


def _hour(instant: datetime) -> str:
    return f"{instant:%Y-%m-%d %H:%M} UTC"
