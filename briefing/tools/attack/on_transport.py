"""Failures and false answers of any service, whatever its body was."""

from __future__ import annotations

import json
from typing import Any

from briefing.tools.attack.bodies import Answer
from briefing.tools.attack.kinds import Attack, Draw, kind

ALL = (
    "wind_grid", "gust_grid", "marine_wind", "marine_gust", "thunder_pct", "thunder_level", "thunder_weather",
    "wind_text", "thunder_text",
    "wind_model", "gust_model", "cape_model", "code_model", "alert_zone", "alert_shape", "alert_code",
    "marine_text", "station_wind", "station_gust", "airport_wind", "airport_gust", "buoy", "fog_grid", "heat_grid",
)  # fmt: skip
HTML = b"<!DOCTYPE html><html><head><title>502 Bad Gateway</title></head><body>nginx</body></html>"
_STATUS = (400, 401, 403, 404, 410, 418, 429, 500, 501, 502, 503, 504, 520)
_PROBLEMS = ("ForecastGridExpired", "ForecastMissingData", "UnexpectedProblem", "InvalidPoint", "UnavailableWebService",
             "MarineForecastNotSupported")  # fmt: skip


@kind("http_status", *ALL)
def status(draw: Draw) -> Attack:
    """The service answers with a failing status (B9, D1, D3, D10, G10)."""
    code = draw.pick(_STATUS)
    problem = draw.pick(_PROBLEMS)
    body = draw.pick([HTML, {"type": f"https://api.weather.gov/problems/{problem}", "title": problem}, b"", "null",
                      {"error": True, "reason": "Daily API request limit exceeded."}, [], "\x00"])  # fmt: skip
    draw.bodies[draw.base.route] = Answer(body, code, "application/problem+json")
    return draw.done(f"{code} {problem}")


@kind("http_no_answer", *ALL)
def no_answer(draw: Draw) -> Attack:
    """No answer, a broken connection (D1, G10)."""
    word = draw.pick(["timeout", "broken", "refused"])
    draw.bodies[draw.base.route] = Answer(fails=word)
    return draw.done(word)


@kind("http_page_for_data", *ALL)
def page_for_data(draw: Draw) -> Attack:
    """A web page or a sentence with status 200 (D8, D9, D14)."""
    answer = draw.answer()
    raw, mime = draw.pick(
        [(HTML, "text/html"), (HTML, answer.kind), (b"  <html>", answer.kind), (b"Call Blocked", "text/plain"),
         (b"", answer.kind), (b"   ", answer.kind), (b"null", answer.kind), (b"[]", answer.kind), (b"{}", answer.kind),
         (b"0", answer.kind), (b'"ok"', answer.kind), (b"{", answer.kind), (b"[" * 5000, answer.kind),
         (b"\x00" * 40, answer.kind), (b"\x1f\x8b\x08broken", answer.kind), (b"true", answer.kind)]
    )  # fmt: skip
    draw.bodies[draw.base.route] = Answer(raw, kind=mime)
    return draw.done(f"{raw[:20]!r} {mime}")


@kind("http_cut", *ALL)
def cut(draw: Draw) -> Attack:
    """The body is cut off."""
    answer = draw.answer()
    if isinstance(answer.data, list) and "observations" in draw.base.route:
        answer.data = {"type": "FeatureCollection", "features": answer.data}
    whole = len(answer.content())
    answer.cut = draw.rng.randrange(1, whole)
    return draw.done(f"{answer.cut} of {whole} bytes")


@kind("http_name_twice", *ALL)
def name_twice(draw: Draw) -> Attack:
    """A name stands twice in one object, the second time with nothing or something else: the last one counts (G3)."""
    answer = draw.answer()
    if isinstance(answer.data, list) and "observations" in draw.base.route:
        answer.data = {"type": "FeatureCollection", "features": answer.data}
    data = json.loads(json.dumps(answer.data))
    objects = [one for one in _objects(data) if one]
    if not objects:
        return draw.done("no object")
    inside = draw.pick(objects)
    name = draw.pick(sorted(inside))
    inside[_TWICE] = draw.pick(
        [[], {}, None, 0, "", "Test", [{"validTime": "2026-01-01T00:00:00+00:00/P9D", "value": 0}]]
    )
    answer.data = json.dumps(data).replace(json.dumps(_TWICE), json.dumps(name)).encode()
    return draw.done(f"{name} twice")


_TWICE = "the same name again"


def _objects(value: Any) -> list[dict[str, Any]]:
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    found = [one for part in inner for one in _objects(part)]
    return [value, *found] if isinstance(value, dict) else found


@kind("http_encoding", *ALL)
def encoding(draw: Draw) -> Attack:
    """The body in another encoding."""
    answer = draw.answer()
    if isinstance(answer.data, list) and "observations" in draw.base.route:
        answer.data = {"type": "FeatureCollection", "features": answer.data}
    text = answer.data if isinstance(answer.data, str) else json.dumps(answer.data, ensure_ascii=False)
    name = draw.pick(["utf-8-sig", "utf-16", "utf-32", "latin-1", "cp1252"])
    answer.data = text.encode(name, errors="replace")
    return draw.done(name)


@kind("http_header_false", *ALL)
def header_false(draw: Draw) -> Attack:
    """Headers that do not fit the body."""
    answer = draw.answer()
    name, value = draw.pick(
        [("Content-Encoding", "gzip"), ("Content-Encoding", "br"), ("Content-Encoding", "x-unknown"),
         ("Content-Type", "text/html"), ("Content-Type", ""), ("Content-Type", "application/octet-stream"),
         ("Age", "-5"), ("Age", "soon"), ("Retry-After", "Fri, 31 Dec 2027"), ("ETag", "x" * 3000)]
    )  # fmt: skip
    answer.headers[name] = value
    if name == "Content-Type":
        answer.kind = value
        answer.headers.pop(name)
    return draw.done(f"{name}: {value[:30]}")


@kind("http_redirect", *ALL)
def redirect(draw: Draw) -> Attack:
    """The address has moved, in circles or away (D7, D14)."""
    target = draw.pick([draw.base.route, "/nowhere", "ftp://x.invalid/", "http://[bad/", ""])
    answer = Answer(HTML, draw.pick([301, 302, 307, 308]), "text/html", {"Location": target})
    draw.bodies[draw.base.route] = answer
    return draw.done(target)


@kind("points_spoiled",
      "wind_grid", "gust_grid", "thunder_pct", "alert_zone", "alert_shape")  # fmt: skip
def points_spoiled(draw: Draw) -> Attack:
    """The service says nothing usable of the position (D4, D6, D12)."""
    answer = draw.answer("/nws/points")
    inner = answer.data["properties"]
    how = draw.pick(["no grid", "grid null", "grid number", "elsewhere", "no zones", "no properties", "404", "500"])
    if how in ("404", "500"):
        draw.bodies["/nws/points"] = Answer({"title": how, "status": int(how)}, int(how), "application/problem+json")
    elif how == "no grid":
        del inner["forecastGridData"]
    elif how == "no zones":
        inner["forecastZone"] = inner["county"] = None
    elif how == "no properties":
        answer.data = {"type": "Feature"}
    else:
        inner["forecastGridData"] = {"grid null": None, "grid number": 5}.get(how, "https://x.invalid/gridpoints/A/1,2")
    return draw.done(how)
