"""What every answer says of itself, a static file's too."""

import pytest


@pytest.mark.parametrize("address", ["/static/mark.svg", "/static/book.css", "/static/book.js"])
def test_it_works(client, address):
    response = client.get(address)
    b"".join(response.streaming_content)
    assert response.status_code == 200
    assert "default-src 'none'" in response["Content-Security-Policy"]
    assert response["X-Content-Type-Options"] == "nosniff"


def test_a_page_has_the_same_policy(owner_client):
    page, static = owner_client.get("/"), owner_client.get("/static/mark.svg")
    assert page["Content-Security-Policy"] == static["Content-Security-Policy"]
