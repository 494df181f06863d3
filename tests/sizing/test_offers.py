import math
from pathlib import Path

import pytest

from waterbudget.errors import InputError
from waterbudget.sizing.offers import MOST_OFFERS, Choice, Offer, choices, read_offers

DEMO = Path(__file__).parent.parent.parent / "data_demo" / "prices.csv"
SLIM, ROUND = Offer("Slim", 200.0, 48.0, 0.25, 1.0), Offer("Round", 300.0, 62.5, 0.34)
HEAD = "name,capacity_l,price\n"


@pytest.fixture
def told(tmp_path):
    """What is said of a file of offers, without the path in front."""

    def faults(text, encoding="utf-8"):
        path = tmp_path / "prices.csv"
        path.write_bytes(text.encode(encoding))
        with pytest.raises(InputError) as error:
            read_offers(path)
        assert all(fault.startswith(f"{path}: ") for fault in error.value.faults)
        return [fault.removeprefix(f"{path}: ") for fault in error.value.faults]

    return faults


def read(tmp_path, text):
    path = tmp_path / "prices.csv"
    path.write_bytes(text.encode())
    return read_offers(path)


# ---- The file ----


def test_columns_come_in_any_order_with_others_between(tmp_path):
    text = "price,colour,height_m,name,capacity_l,footprint_m2\n48,green,1.0,Slim,200,0.25\n"
    assert read(tmp_path, text) == [SLIM]


def test_ground_and_height_may_be_left_out(tmp_path):
    assert read(tmp_path, f"{HEAD}Slim,200,0\n\n") == [Offer("Slim", 200.0, 0.0, None, None)]


def test_a_spreadsheets_marks_and_quotes_are_read(tmp_path):
    text = f'\ufeff{HEAD}"Slim, green",200,48.50\r\n'
    assert read(tmp_path, text) == [Offer("Slim, green", 200.0, 48.5)]


def test_the_demo_is_read():
    offers = read_offers(DEMO)
    assert len(offers) >= 5
    assert all(offer.footprint_m2 and offer.height_m for offer in offers)


NUMBER_ALONE = "write the number alone, such as 85 or 84.50"
TOO_MANY = "write decimals with a point (1.5, not 1,5), thousands with nothing, and text with a comma in quotes"


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        (f"{HEAD}Slim,200,£48\n", [f'row 2: price is "£48"; {NUMBER_ALONE}']),
        (f"{HEAD}Slim,200,48 €\nRound,300,62\n", [f'row 2: price is "48 €"; {NUMBER_ALONE}']),
        (f'{HEAD}Slim,200,"1,048"\n',
         ["row 2: price is 1,048, which may be 1048 or 1.048, and no other number tells; write 1048 or 1.0480"]),
        (f'{HEAD.replace(",", ";")}Slim;1.200;48\n',
         ["row 2: capacity_l is 1.200, which may be 1200 or 1.200, and no other number tells; write 1200 or 1.2000"]),
        (f"{HEAD}Slim,200,1,048\n",
         [f"row 2: has 4 values under 3 column names; {TOO_MANY}"]),
        (f"{HEAD}Slim,200,-48\n", [f'row 2: price is "-48"; {NUMBER_ALONE}']),
        (f"{HEAD}Slim,200,nan\n", [f'row 2: price is "nan"; {NUMBER_ALONE}']),
        (f"{HEAD}Slim,200,1e9999\n", [f'row 2: price is "1e9999"; {NUMBER_ALONE}']),
        (f"{HEAD}Slim,200,\n", [f"row 2: price is blank; {NUMBER_ALONE}"]),
        (f"{HEAD},200,48\n", ["row 2: name is blank; write what the offer is called"]),
        (f"{HEAD}{'x' * 5000},200,48\n", [f'row 2: name is "{"x" * 79}…", of 5,000 letters; write at most 80']),
        (f"{HEAD}Slim,,48\n", ["row 2: capacity_l is blank; write litres above 0, such as 300"]),
        (f"{HEAD}Slim,0,48\n", ['row 2: capacity_l is "0"; write litres above 0, such as 300']),
        (f"{HEAD}Slim,200 L,48\n", ['row 2: capacity_l is "200 L"; write litres above 0, such as 300']),
        (f"{HEAD}Slim,200\n", ["row 2: has 2 values under 3 column names; fill every column"]),
        (f"{HEAD}\nSlim,200,48\n\nRound,300,$62\n", [f'row 5: price is "$62"; {NUMBER_ALONE}']),
        (f"{HEAD}Slim,£200,\n,300,62\n",
         ['row 2: capacity_l is "£200"; write litres above 0, such as 300', f"row 2: price is blank; {NUMBER_ALONE}",
          "row 3: name is blank; write what the offer is called"]),
        ("name,capacity_l\nSlim,200\n",
         ["row 1: the column price is missing; write the header name,capacity_l,price"]),
        ("name,capacity_l,price,price\nSlim,200,4,5\n", ["row 1: the column price stands there 2 times; keep one"]),
        ("name,capacity_l,price,footprint_m2\nSlim,200,48,\n",
         ["row 2: footprint_m2 is blank; write square metres above 0, such as 0.4, or leave the column out"]),
        (HEAD, ["holds no offers; write one a row under the header"]),
        ("", ["is empty; write the header name,capacity_l,price and an offer a row"]),
        (f"{HEAD}Slim,200,48\nSlim,300,62\n", ['"Slim" stands there twice; give each offer its own name']),
        (f'{HEAD}"Slim,200,48\n', ["row 2: is no CSV (unexpected end of data); check its quotation marks"]),
        (HEAD + "".join(f"Butt {n},200,48\n" for n in range(MOST_OFFERS + 1)),
         [f"holds {MOST_OFFERS + 1} offers; keep the {MOST_OFFERS} that you would really buy"]),
    ],
)  # fmt: skip
def test_a_fault_is_told_in_a_line_with_its_row(told, text, faults):
    assert told(text) == faults


@pytest.mark.parametrize(
    ("text", "encoding"),
    [
        ("name;capacity_l;price\nSchm\u00e4l;1.200;48,50\n'=2 butts;300;62\n", "cp1252"),
        ("name\tcapacity_l\tprice\nSchm\u00e4l\t1,200\t48.50\n'=2 butts\t300\t62\n", "utf-16"),
        ('name,capacity_l,price\nSchm\u00e4l,"1,200",48.50,,\n\'=2 butts,300,62\n', "utf-8-sig"),
    ],
)
def test_what_a_spreadsheet_saved_is_read(tmp_path, text, encoding):
    path = tmp_path / "prices.csv"
    path.write_bytes(text.encode(encoding))
    assert read_offers(path) == [Offer("Schm\u00e4l", 1200.0, 48.5), Offer("=2 butts", 300.0, 62.0)]


def test_a_file_that_is_not_there_is_told(tmp_path):
    with pytest.raises(InputError, match="there is no such file; write one with the columns name,capacity_l,price"):
        read_offers(tmp_path / "none.csv")
    with pytest.raises(InputError, match="is a folder; name the CSV file in it"):
        read_offers(tmp_path)


# ---- Pieces together ----


def test_one_two_and_three_pieces_alike_or_not():
    names = [choice.name for choice in choices([SLIM, ROUND])]
    assert names == [
        "Slim",
        "Round",
        "2 × Slim",
        "Slim + Round",
        "2 × Round",
        "3 × Slim",
        "2 × Slim + Round",
        "Slim + 2 × Round",
        "3 × Round",
    ]
    assert len(choices(read_offers(DEMO))) == math.comb(9, 3) + math.comb(8, 2) + 7  # seven offers, with repetition


def test_what_pieces_add_up_to():
    both = Choice((SLIM, SLIM, ROUND))
    assert (both.capacity_l, both.price, both.weight_kg) == (700, 158.5, 700)
    assert both.footprint_m2 == pytest.approx(0.84)
    assert both.height_m is None  # the round one does not tell
    assert Choice((SLIM, SLIM)).height_m == 1.0
    assert Choice((Offer("Bag", 100.0, 9.0), SLIM)).footprint_m2 is None


def test_payback_by_hand():
    # 48 for 1000 L a year at 4 a cubic metre: 4 a year
    assert Choice((SLIM,)).payback_years(1000.0, 4.0) == 12
    assert Choice((SLIM,)).payback_years(0.0, 4.0) == math.inf
    assert Choice((SLIM,)).payback_years(-5.0, 4.0) == math.inf
