from __future__ import annotations

import threading
import time

import pytest

from letterkit.service.turns import Turns


def test_turns_come_in_the_order_of_asking_and_one_at_a_time():
    turns, order, inside = Turns(), [], []

    def ask(number: int) -> None:
        with turns:
            inside.append(number)
            assert inside == [number]
            time.sleep(0.002)
            order.append(inside.pop())

    threads = []
    with turns:
        for number in range(20):
            threads.append(threading.Thread(target=ask, args=(number,)))
            threads[-1].start()
            while len(turns._waiting) <= number:
                time.sleep(0.0005)
    for thread in threads:
        thread.join()
    assert order == list(range(20))


def test_an_error_hands_the_turn_on():
    turns = Turns()
    for _ in range(2):
        with pytest.raises(ZeroDivisionError), turns:
            _ = 1 / 0
    with turns:
        pass
