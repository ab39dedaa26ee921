"""The sheet is printed from an animal's page."""

import io

import pytest
from django.urls import reverse
from pypdf import PdfReader

from herdbook.book.models import Animal


@pytest.fixture
def pdf(owner_client, cast, today):
    def get(animal=cast.rook):
        return owner_client.get(reverse("animal-sheet-pdf", args=[animal.public_id]))

    return get


def test_it_works(pdf):
    answer = pdf()

    assert answer["Content-Type"] == "application/pdf"
    reader = PdfReader(io.BytesIO(answer.content))
    text = reader.pages[0].extract_text()
    assert len(reader.pages) == 1
    for words in ("Thornmoor Rook", "Thornmoor Bramble", "Thornmoor Wren", "25 November 2026"):
        assert words in text


def test_the_browser_prints_the_same(owner_client, cast, today):
    page = owner_client.get(reverse("animal-sheet", args=[cast.rook.public_id]))

    assert "Thornmoor Bramble" in page.content.decode()
    assert "one dose" in page.content.decode()


def test_the_page_leads_to_the_pdf_and_back(owner_client, cast, today):
    page = owner_client.get(reverse("animal-sheet", args=[cast.rook.public_id])).content.decode()

    assert reverse("animal-sheet-pdf", args=[cast.rook.public_id]) in page
    assert cast.rook.get_absolute_url() in page


def test_it_names_a_character_that_cannot_be_printed(pdf, cast):
    Animal.objects.filter(pk=cast.rook.pk).update(name="Rook 🐹")

    answer = pdf()

    assert answer.status_code == 422
    assert "🐹" in answer.content.decode()
