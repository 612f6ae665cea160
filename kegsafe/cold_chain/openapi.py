"""The description of what loggers may send, as an OpenAPI document."""

from typing import Any

from django.urls import reverse

from kegsafe.cold_chain.network import LARGEST_BODY_BYTES, MOST_READINGS


def description() -> dict[str, Any]:
    """Return the document."""
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Readings of temperature loggers",
            "version": "1",
            "description": "A logger sends one reading or many, as often as it likes: a reading "
            "for the same place and second is kept once, the warmer of two values stays. A time "
            "carries its own offset, so clock changes do not matter.",
        },
        "paths": {reverse("logger-readings"): {"post": _post()}},
        "components": {
            "securitySchemes": {"token": {"type": "http", "scheme": "bearer"}},
            "schemas": _schemas(),
        },
    }


def _post() -> dict[str, Any]:
    return {
        "operationId": "sendReadings",
        "summary": "Keep one reading, or up to a thousand",
        "security": [{"token": []}],
        "requestBody": {
            "required": True,
            "content": {
                "application/json": {
                    "schema": {"anyOf": [_ref("Reading"), _ref("Readings")]},
                    "example": {"readings": [{"at": "2026-04-07T13:45:00Z", "degc": 4.2}]},
                }
            },
        },
        "responses": {
            "200": _answer("At least one reading was kept; each is told by itself.", "Kept"),
            "400": _answer("The message cannot be read.", "Problem"),
            "401": _answer("The token is missing, wrong or revoked.", "Problem"),
            "413": _answer(f"More than {LARGEST_BODY_BYTES // 1024} kB.", "Problem"),
            "415": _answer("Not application/json.", "Problem"),
            "422": _answer("No reading could be kept; each is told by itself.", "Kept"),
            "429": _answer("Too many messages, or too many wrong tokens.", "Problem"),
        },
    }


def _answer(words: str, schema: str) -> dict[str, Any]:
    return {"description": words, "content": {"application/json": {"schema": _ref(schema)}}}


def _ref(name: str) -> dict[str, str]:
    return {"$ref": f"#/components/schemas/{name}"}


def _schemas() -> dict[str, Any]:
    return {
        "Reading": {
            "type": "object",
            "required": ["at"],
            "properties": {
                "at": {
                    "anyOf": [
                        {"type": "string", "format": "date-time"},
                        {"type": "integer", "minimum": 946_684_800, "maximum": 4_102_444_800},
                    ],
                    "description": "With its offset, or seconds since 1970 in UTC. Not before "
                    "2000, not more than five minutes ahead.",
                },
                "degc": {"type": "number", "minimum": -60, "maximum": 60},
                "degf": {"type": "number", "minimum": -76, "maximum": 140},
            },
            "additionalProperties": False,
            "description": "The temperature is given once: degc or degf.",
        },
        "Readings": {
            "type": "object",
            "required": ["readings"],
            "properties": {
                "readings": {
                    "type": "array",
                    "minItems": 1,
                    "maxItems": MOST_READINGS,
                    "items": _ref("Reading"),
                }
            },
            "additionalProperties": False,
        },
        "Kept": {
            "type": "object",
            "required": ["server_time", "added", "repeated", "clashed", "results"],
            "properties": {
                "server_time": {"type": "string", "format": "date-time"},
                "added": {"type": "integer"},
                "repeated": {"type": "integer"},
                "clashed": {"type": "integer"},
                "results": {"type": "array", "items": _ref("Result")},
            },
        },
        "Result": {
            "type": "object",
            "required": ["index", "outcome"],
            "properties": {
                "index": {"type": "integer"},
                "outcome": {"enum": ["kept", "refused"]},
                "error": {"type": "string"},
            },
        },
        "Problem": {
            "type": "object",
            "required": ["error"],
            "properties": {"error": {"type": "string"}},
        },
    }
