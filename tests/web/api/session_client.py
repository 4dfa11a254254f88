"""Runs whole sessions through the API with a simulated trainee."""

from typing import Any

from starlette.testclient import TestClient

from tests.drill.simulated_trainee import SimulatedTrainee
from tests.web.client import current_item, post_answer


def answer_to_end(
    client: TestClient, state: dict[str, Any], trainee: SimulatedTrainee
) -> list[dict[str, Any]]:
    """Answer every item that is left of a session; return the replies."""
    replies: list[dict[str, Any]] = []
    while not state["finished"]:
        text = trainee.type_answer(current_item(state["id"]))
        response = post_answer(client, state["id"], state["number"], text)
        assert response.status_code == 200, response.text
        replies.append(response.json())
        state = replies[-1]["state"]
    return replies
