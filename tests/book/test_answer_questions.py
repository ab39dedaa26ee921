"""A litter that is hard to believe is asked about, and saved once each question is answered."""

import pytest

from herdbook.book.exceptions import ConfirmationNeededError
from herdbook.book.inputs import PupEntry
from herdbook.book.models import Animal
from tests.book.test_record_litter import write


def test_an_answer_to_one_question_is_no_answer_to_another(cast):
    with pytest.raises(ConfirmationNeededError):
        write(
            cast,
            pups=(PupEntry(birth_weight_g=400), PupEntry(birth_weight_g=300)),
            answered=["birth-weight:0"],
        )
    assert not Animal.objects.filter(birth_weight_g=400).exists()


def test_it_asks_about_a_lethal_white(cast):
    pups = (PupEntry(coat="white"), PupEntry(coat="lethal"))
    with pytest.raises(ConfirmationNeededError) as found:
        write(cast, pups=pups)
    (finding,) = found.value.findings
    assert (finding.code, finding.field) == ("lethal-white:1", "pups-1-coat")
    assert "ask a vet at once" in finding.message
    litter = write(cast, pups=pups, answered=[finding.code])
    assert {pup.coat for pup in litter.pups.all()} == {"white", "lethal"}
