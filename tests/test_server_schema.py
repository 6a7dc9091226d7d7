"""What the server says about itself: the OpenAPI text holds the case's grammar, the answer's, and the problems'."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest

from api.case import case_schema
from api.records import answer_schema
from api.server import create_app


@pytest.fixture(scope="module")
def text() -> dict[str, Any]:
    """The OpenAPI text; to ask for it starts nothing."""
    schema: dict[str, Any] = json.loads(json.dumps(create_app().openapi()))
    return schema


def test_the_paths_are_those_of_the_contract(text: dict[str, Any]) -> None:
    assert {path: sorted(methods) for path, methods in text["paths"].items()} == {
        "/api/analyses": ["post"],
        "/api/analyses/{id}": ["delete", "get"],
        "/api/analyses/{id}/maps/{stage}/{face}.png": ["get"],
        "/api/analyses/{id}/steel/{name}": ["get"],
    }


def test_the_body_is_the_case(text: dict[str, Any]) -> None:
    body = text["paths"]["/api/analyses"]["post"]["requestBody"]
    assert body["content"]["application/json"]["schema"] == {"$ref": "#/components/schemas/Case"}
    case = text["components"]["schemas"]["Case"]
    assert case["properties"].keys() == case_schema()["properties"].keys()
    assert "Case.Slab" in text["components"]["schemas"]


def test_every_reference_leads_somewhere(text: dict[str, Any]) -> None:
    written = json.dumps(text)
    names = set(re.findall(r'"#/components/schemas/([^"]+)"', written))
    assert names <= text["components"]["schemas"].keys()
    assert "#/$defs" not in written
    assert "HTTPValidationError" not in written


def test_every_error_is_a_problem_document(text: dict[str, Any]) -> None:
    seen = 0
    for methods in text["paths"].values():
        for operation in methods.values():
            for code, response in operation["responses"].items():
                if int(code) >= 400:
                    assert list(response["content"]) == ["application/problem+json"]
                    seen += 1
    assert seen > 10


def test_units_and_signs_are_said(text: dict[str, Any]) -> None:
    told = text["info"]["description"]
    for part in ("SI: m, N, Pa", "degrees", "positive with", "pulls the underside", "licensed engineer"):
        assert part in told
    assert "1000000 bytes" in told


def test_the_answers_keys_are_those_of_the_contract() -> None:
    """Typed out from the contract, so that a key cannot vanish or change its name unnoticed."""
    schema = answer_schema()
    keys = {name: set(model["properties"]) for name, model in schema["$defs"].items()}
    assert set(schema["properties"]) >= {
        "answer", "program", "hash", "case", "mesh", "weight_N", "stages", "steel", "advice", "assumed", "warnings",
        "verdict", "weight", "handling",
    }  # fmt: skip
    assert keys["StageAnswer"] >= {
        "id", "name", "age_s", "up", "cracking_strength_Pa", "allowed_Pa", "status", "rocks", "converged", "peak",
        "use_of_allowed", "use_of_cracking", "deflection_max_m", "deflection_error_m", "equilibrium_residual",
        "supports", "probes", "tips", "posture", "governing", "walks", "levels", "hands", "strengths", "variations",
    }  # fmt: skip
    assert keys["SupportForce"] == {"index", "name", "force_N", "edge_N", "moment_Nm", "lifted", "contact_share"}
    assert keys["Probe"] == {"name", "at", "w_m", "moment_Nm_per_m", "show", "underside", "why_null"}
    assert keys["Tension"] >= {"tension_Pa", "error_Pa", "angle_deg", "local_Pa"}
    assert keys["Peak"] >= keys["Tension"] | {"at", "local_at"}
    assert keys["Tips"] >= {"axis", "hold_down_N", "hold_down_at"}
    assert keys["Tips"] >= {"variation", "at", "place", "least_load_N"}
    assert keys["Governing"] == {"variation", "at", "place"}
    assert keys["Walk"] == {"name", "places", "change_Pa", "worst", "least_load_that_tips_N"}
    assert keys["Level"] >= {"index", "name", "high_m", "low_m", "high_face", "low_face"}
    assert keys["Hand"] >= {"name", "force_N", "limit_N", "over"}
    assert keys["Advice"] >= {"what", "kind", "stage", "before_Pa", "after_Pa", "status_after", "face", "case"}
    assert keys["Verdict"] == {"status", "rows", "sentences", "not_checked"}
    assert keys["VerdictRow"] >= {
        "stage", "id", "face", "pull_Pa", "error_Pa", "allowed_Pa", "share", "where", "variation",
        "what_a_crack_would_do",
    }  # fmt: skip
    assert keys["Weight"] >= {"weight_N", "center_of_gravity", "people"}
    assert keys["Mesh"] == {"nodes", "triangles", "smallest_angle_deg"}
