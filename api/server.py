"""Cases over HTTP: the same grammar as the file, the same answer as result.json, every refusal a problem document.

The server itself computes nothing: it bounds, queues and hands on (api/jobs.py). Nothing is opened at import.
"""

from __future__ import annotations

import asyncio
import json
import logging
import socket
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from http import HTTPStatus
from pathlib import PurePosixPath
from typing import Annotated, Any, Literal

import uvicorn
from fastapi import FastAPI, Query, Request, Response
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException

from api.case import case_schema
from api.errors import CaseError, Problem
from api.jobs import BodyRefusedError, Bounds, BusyError, Job, Jobs
from api.problems import problem_document, problem_of
from api.records import ProblemDocument, Record
from api.result_folder import LIFE, SHAPE
from api.version import VERSION
from api.workers import TaskFailedError, TooSlowError, WorkerDiedError

__all__ = ["create_app", "serve_forever"]

PROBLEM = "application/problem+json"
RETRY_AFTER = "5"
FILES = {
    ".dxf": "image/vnd.dxf",
    ".pdf": "application/pdf",
    ".svg": "image/svg+xml",
    ".csv": "text/csv; charset=utf-8",
    ".png": "image/png",
}
SAFE = {
    "Content-Security-Policy": "default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:; sandbox"
}
"""A drawing is looked at, nothing in it is run."""
DESCRIPTION = """
Principal tension in thin concrete slabs, stage by stage of a piece's life. A calculation aid: the local code and a
licensed engineer decide.

**Units.** A case says its own (`units`); a quantity is a number in them or text with a unit (`"38 mm"`, `"1.5 in"`).
Answers are SI: m, N, Pa, N m/m, s; angles in degrees in [0, 180) from +x. There is no NaN: null, with a reason.

**Signs.** Coordinates are as seen looking AT the show face, whichever way it lies. Deflection is positive with
gravity. A positive moment pulls the underside, whichever face looks up. Support forces are positive upward on the slab.

**Errors** are problem documents (RFC 9457); `errors` lists every fault with its path in the case. The body may have
{body} bytes, {waiting} analyses may wait, one may take {work_time:g} s; refusals name the bound.
"""
COMMON: dict[int | str, str] = {404: "no such thing", 422: "the request is wrong", 500: "the program failed"}
log = logging.getLogger("tensionlay")


def create_app(bounds: Bounds | None = None) -> FastAPI:
    """The application; its worker processes live as long as its lifespan."""
    bounds = bounds or Bounds()

    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        async with Jobs(bounds) as jobs:
            app.state.jobs = jobs
            yield

    app = FastAPI(
        title="tensionlay",
        version=VERSION,
        description=DESCRIPTION.format(body=bounds.body, waiting=bounds.waiting, work_time=bounds.work_time),
        lifespan=lifespan,
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
        responses={code: _problem_response(text) for code, text in COMMON.items()},
    )
    _add_routes(app, bounds)
    _add_problems(app)
    _describe_body(app)
    return app


def serve_forever(host: str, port: int, say: Callable[[str], None] = print) -> None:
    """Serve until interrupted; CaseError if the address cannot be had."""
    try:
        listener = socket.create_server((host, port), family=socket.AF_INET6 if ":" in host else socket.AF_INET)
    except (OSError, OverflowError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise CaseError(
            [Problem("--host, --port", f"cannot listen on {host}:{port}: {reason}", "give another")]
        ) from None
    with listener:
        where = f"[{host}]" if ":" in host else host
        say(f"listening on http://{where}:{listener.getsockname()[1]}/api/analyses (grammar: /api/openapi.json)")
        if host not in ("127.0.0.1", "localhost", "::1"):
            say("anybody who reaches this address can have cases computed here; nobody is asked who they are")
        server = uvicorn.Server(uvicorn.Config(create_app(), log_level="warning", server_header=False))
        server.run(sockets=[listener])


def _add_routes(app: FastAPI, bounds: Bounds) -> None:
    @app.post(
        "/api/analyses",
        responses={
            200: {"model": Record, "description": "finished: its result, or the problem that kept it from one"},
            202: {"model": Record, "description": "taken; ask again at Location"},
            400: _problem_response("the body is no JSON"),
            408: _problem_response("the body came too slowly"),
            413: _problem_response("the body is too large"),
            415: _problem_response("the body is not declared as JSON"),
            422: _problem_response("the case is wrong: every fault, with its path in the case"),
            429: _problem_response("too much is waiting"),
            503: _problem_response("the case takes too long to read"),
        },
    )
    async def post_analysis(
        request: Request,
        wait: Annotated[float, Query(ge=0, le=60, description="how long to wait for the result [s]")] = 0,
        advice: Annotated[
            bool | None, Query(description="try what would help; left out: where the case has [life]")
        ] = None,
        judge: Annotated[bool, Query(description="judge the case's own layout of steel")] = False,
    ) -> Response:
        """Solve every stage of a case, and lay its steel where it has [steel]. Units and signs: see above."""
        jobs: Jobs = app.state.jobs
        body = await _body(request, bounds)
        job = await jobs.submit(body, advice, judge)
        await jobs.wait(job, wait)
        return _record(job, 200 if job.over.is_set() else 202, {"Location": f"/api/analyses/{job.id}"})

    @app.get("/api/analyses/{id}", responses={200: {"model": Record}})
    async def get_analysis(id: str) -> Response:
        """How far an analysis is, and its result once it is done."""
        return _record(_job(app, id))

    @app.delete("/api/analyses/{id}", responses={200: {"model": Record}})
    async def cancel_analysis(id: str) -> Response:
        """Cancel an analysis that waits or runs; one that is over stays as it is."""
        job = _job(app, id)
        await app.state.jobs.cancel(job)
        return _record(job)

    @app.get(
        "/api/analyses/{id}/maps/{stage}/{face}.png",
        responses={
            200: {"content": {"image/png": {}}, "description": "the picture"},
            409: _problem_response("the analysis has no result, or not yet"),
            429: _problem_response("too much is waiting"),
        },
        response_class=Response,
    )
    async def get_map(id: str, stage: str, face: Literal["show", "underside", "shape"]) -> Response:
        """A stage, by its id: one of its faces, or its bent shape; or a face of the whole life, called life.

        Drawn when it is first asked for.
        """
        job = _job(app, id)
        if job.state != "done":
            raise HTTPException(409, f"the analysis is {job.state}: it has no maps" + " yet" * (not job.over.is_set()))
        if stage == LIFE:
            if face == SHAPE:
                raise HTTPException(404, "the whole life has no one shape; each stage has its own")
            return Response(await app.state.jobs.draw(job, None, face), media_type="image/png")
        if stage not in job.stages:
            raise HTTPException(404, f"no stage with the id {stage!r}; there are: {', '.join(job.stages)}")
        picture = await app.state.jobs.draw(job, job.stages.index(stage), face)
        return Response(picture, media_type="image/png")

    @app.get(
        "/api/analyses/{id}/steel/{name}",
        responses={
            200: {"content": {kind: {} for kind in FILES.values()}, "description": "the file"},
            409: _problem_response("the analysis has no result, or not yet"),
            429: _problem_response("too much is waiting"),
        },
        response_class=Response,
    )
    async def get_steel(id: str, name: str) -> Response:
        """A file about the steel, by its name in steel.files of the answer: sheets, cut list, report, maps.

        All of them are made when one is first asked for.
        """
        job = _job(app, id)
        if job.state != "done":
            raise HTTPException(409, f"the analysis is {job.state}: it has no files" + " yet" * (not job.over.is_set()))
        try:
            content = await app.state.jobs.file(job, f"steel/{name}")
        except KeyError:
            there = ", ".join(one.removeprefix("steel/") for one in job.files) or "none: nothing was laid"
            raise HTTPException(404, f"no such file about the steel; there are: {there}") from None
        return Response(content, 200, SAFE, FILES[PurePosixPath(name).suffix])


def _job(app: FastAPI, id: str) -> Job:
    job: Job | None = app.state.jobs.get(id)
    if job is None:
        raise HTTPException(404, "no such analysis, or it is no longer kept")
    return job


def _record(job: Job, status: int = 200, headers: dict[str, str] | None = None) -> Response:
    """The record of an analysis; the result is the worker's own JSON, passed on as it came."""
    step, of, what = job.progress
    head = {
        "id": job.id,
        "state": job.state,
        "progress": {"step": step, "of": of, "what": what},
        "problem": job.problem,
    }
    text = json.dumps(head).encode()[:-1] + b', "result": ' + (job.result or b"null") + b"}"
    return Response(text, status, headers, "application/json")


async def _body(request: Request, bounds: Bounds) -> bytes:
    """The request's body, as long as it is declared as JSON, comes in time and keeps within its bound."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != "application/json":
        raise HTTPException(415, "send the case as application/json")
    length = request.headers.get("content-length", "")
    if length.isdigit() and int(length[:18]) > bounds.body:
        raise HTTPException(413, f"the body has {length[:18]} bytes; at most {bounds.body} are taken")
    body = bytearray()
    try:
        async with asyncio.timeout(bounds.body_time):
            async for chunk in request.stream():
                body += chunk
                if len(body) > bounds.body:
                    raise HTTPException(413, f"the body is too large; at most {bounds.body} bytes are taken")
    except TimeoutError:
        raise HTTPException(408, f"the body did not come within {bounds.body_time:g} s") from None
    return bytes(body)


def _add_problems(app: FastAPI) -> None:
    """Every way to fail, the framework's own included, ends in a problem document."""

    @app.exception_handler(HTTPException)
    async def of_http(request: Request, error: HTTPException) -> Response:
        title = HTTPStatus(error.status_code).phrase
        return _problem(
            request, problem_document("about:blank", error.status_code, error.detail, title=title), error.headers
        )

    @app.exception_handler(RequestValidationError)
    async def of_parameters(request: Request, error: RequestValidationError) -> Response:
        faults = [_parameter_fault(one) for one in error.errors()]
        detail = "; ".join(f"{one['where']}: {one['what']}" for one in faults)
        title = "The request is wrong"
        return _problem(request, problem_document("about:blank", 422, detail, errors=faults, title=title))

    @app.exception_handler(BodyRefusedError)
    async def of_body(request: Request, error: BodyRefusedError) -> Response:
        return _problem(request, problem_document("about:blank", 400, str(error), title="The body is no JSON"))

    @app.exception_handler(BusyError)
    async def of_busy(request: Request, error: BusyError) -> Response:
        document = problem_document("about:blank", 429, f"{error}; try again later", title="Too much is waiting")
        return _problem(request, document, {"Retry-After": RETRY_AFTER})

    for kind in (CaseError, TooSlowError, TaskFailedError, WorkerDiedError):
        app.add_exception_handler(kind, _of_work)
    app.add_exception_handler(Exception, _of_anything)


async def _of_work(request: Request, error: Exception) -> Response:
    if isinstance(error, TaskFailedError):
        log.error("%s\n%s", error, error.details)
    return _problem(request, problem_of(error))


async def _of_anything(request: Request, error: Exception) -> Response:
    detail = "this should not have happened; the server's log tells more"
    return _problem(request, problem_document("about:blank", 500, detail, title="The program failed"))


def _problem(request: Request, document: dict[str, Any], headers: Any = None) -> Response:
    document = document | {"instance": document["instance"] or request.url.path}
    return Response(json.dumps(document), document["status"], headers, PROBLEM)


def _parameter_fault(error: Any) -> dict[str, str]:
    """One of the framework's own complaints, about the address of a request, in our words."""
    where = ".".join(str(part) for part in error["loc"])
    return {"where": where, "what": str(error["msg"]), "fix": "see /api/openapi.json"}


def _problem_response(text: str) -> dict[str, Any]:
    return {"description": text, "content": {PROBLEM: {"schema": _reference("ProblemDocument")}}}


def _describe_body(app: FastAPI) -> None:
    """Put the grammar of the case into the OpenAPI text, since the handler reads the body itself."""
    framework = app.openapi

    def openapi() -> dict[str, Any]:
        if app.openapi_schema is None:
            text = framework()
            schemas = text["components"]["schemas"]
            schemas.update(_components("Case", case_schema()))
            schemas.update(_components("ProblemDocument", ProblemDocument.model_json_schema(), prefix=""))
            for unused in ("HTTPValidationError", "ValidationError"):
                schemas.pop(unused, None)
            body = {"required": True, "content": {"application/json": {"schema": _reference("Case")}}}
            text["paths"]["/api/analyses"]["post"]["requestBody"] = body
            app.openapi_schema = text
        return app.openapi_schema

    app.openapi = openapi  # type: ignore[method-assign]  # the framework's own way to extend its text


def _components(name: str, schema: dict[str, Any], prefix: str | None = None) -> dict[str, Any]:
    """A JSON schema as OpenAPI components: its $defs beside it, each under the prefix."""
    prefix = f"{name}." if prefix is None else prefix
    text = json.dumps(schema).replace('"#/$defs/', f'"#/components/schemas/{prefix}')
    whole = json.loads(text)
    whole.pop("$schema", None)
    inner = whole.pop("$defs", {})
    return {name: whole} | {f"{prefix}{key}": value for key, value in inner.items()}


def _reference(name: str) -> dict[str, str]:
    return {"$ref": f"#/components/schemas/{name}"}
