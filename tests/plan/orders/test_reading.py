"""Orders off a CSV file: read alike however it is written, every fault told at once."""

import csv
import io
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.mill.demo_mill import demo_text as shipped
from clew.mill.model import Mill
from clew.plan.orders.asked import OrderAsked
from clew.plan.orders.reading import MUST, orders_from_csv

HEAD = "order,customer,ball,colour,balls,due,dye_lots,priority,lines,ready\n"
ROW = "7,Customer 1,Querl 100,Sloe,40,2026-12-04"
ORDER = OrderAsked("7", "Customer 1", "Querl 100", "Sloe", 40, date(2026, 12, 4))


def faults(mill: Mill, text: str) -> list[str]:
    with pytest.raises(BadInput) as bad:
        orders_from_csv(text, mill, file="o.csv")
    return [str(fault) for fault in bad.value.faults]


def test_the_shipped_orders_are_read(demo_mill: Mill) -> None:
    orders = orders_from_csv(shipped("orders.csv"), demo_mill)
    assert 8 <= len(orders) <= 12
    assert {order.dye_lots for order in orders} == {"one", "case", "any"}
    by_number = {order.number: order for order in orders}
    assert by_number["1105"].customer == "Customer 41, north"
    assert by_number["1105"].lines == ("Line 1",)
    assert by_number["1105"].priority == 1.5
    assert by_number["1108"].ready == date(2026, 12, 1)


@pytest.mark.parametrize(
    "text",
    [
        f"{HEAD}{ROW}\n",
        f"\ufeff{HEAD}{ROW}\n".replace("\n", "\r\n"),
        f"{HEAD}{ROW},one,1,,".replace(",", ";"),
        f'\n{HEAD}\n{ROW},ONE,"1,0",,\n,,,,,\n',
        f"{','.join(MUST)},,\n{ROW},,\n{','.join(',' * 4)}\n",
        "due,balls,colour,ball,customer,order\n2026-12-04,40,sloe,querl 100,Customer 1,7\n",
        "Order,Customer,Ball,Colour,Balls,Due,Dye lots\n" + ROW + ",one",
    ],
)
def test_one_order_however_it_is_written(demo_mill: Mill, text: str) -> None:
    assert orders_from_csv(text, demo_mill) == (ORDER,)


def test_decimal_commas_and_several_lines(demo_mill: Mill) -> None:
    lines = [demo_mill.line[0].model_copy(update={"name": name}) for name in ("Line 1", "Line 2")]
    mill = demo_mill.model_copy(update={"line": tuple(lines)})
    parted = HEAD.replace(",", ";") + ROW.replace(",", ";") + ';any;1,5;"Line 1;Line 2";2026-11-30'
    (order,) = orders_from_csv(parted, mill)
    assert (order.priority, order.lines) == (1.5, ("Line 1", "Line 2"))
    assert (order.dye_lots, order.ready) == ("any", date(2026, 11, 30))
    assert orders_from_csv(f"{HEAD}{ROW},any,1.5,line 1; line 2,2026-11-30", mill) == (order,)


def test_every_fault_with_its_line_and_column(demo_mill: Mill) -> None:
    text = (
        f"{HEAD}1,A,Querl 10,Slo,12.5,4.12.2026,two,-1,Line 9,soon\n"
        '2,"two\nlines",Querl 100,Sloe,0,2026-12-04,,,,\n'
        "3,B,,Sloe,10,2026-12-04,,,,2026-12-05\n"
        "2,C,Querl 100,Sloe,10,2026-12-04,,,,,,x\n"
        "3,C,Querl 100,Sloe,99999999999,2026-02-30,,,Line 1;Line 1,\n"
    )
    found = faults(demo_mill, text)
    begun = [
        "o.csv:2: ball: no such ball in the mill (got 'Querl 10'); expected Querl 100, perhaps",
        "o.csv:2: colour: no such colour in the mill (got 'Slo'); expected Sloe, perhaps",
        "o.csv:2: balls: no number of balls (got '12.5')",
        "o.csv:2: due: no date (got '4.12.2026'); expected a date such as 2026-12-04",
        "o.csv:2: ready: no date",
        "o.csv:2: dye_lots: no rule of dye lots (got 'two'); expected one, case or any",
        "o.csv:2: priority: no priority (got '-1'); expected a number from 0 to 1000",
        "o.csv:2: lines: no such line in the mill (got 'Line 9'); expected Line 1, perhaps",
        "o.csv:3: customer: not a name",
        "o.csv:3: balls: no number of balls (got '0')",
        "o.csv:5: ball: an empty cell",
        "o.csv:5: ready: yarn that is ready after the order is due",
        "o.csv:6: more cells than columns (got 12); expected 10 cells",
        "o.csv:7: balls: no number of balls",
        "o.csv:7: due: no date (got '2026-02-30')",
        "o.csv:7: lines: a line named twice",
        "o.csv:7: order: an order that stands twice (got '3', as in line 5)",
    ]
    assert len(found) == len(begun)
    for fault, start in zip(found, begun, strict=True):
        assert fault.startswith(start), fault


@pytest.mark.parametrize("number", ["=1+1", "+7", "-7", "@SUM(A1)"])
def test_a_formula_is_no_order_number(demo_mill: Mill, number: str) -> None:
    (found,) = faults(demo_mill, f"{HEAD}{number}{ROW[1:]}\n")
    assert found.startswith("o.csv:2: order: a number that is a formula")


@pytest.mark.parametrize("due", ["0001-01-01", "1999-12-31", "2200-01-01", "9999-12-31"])
def test_a_year_that_nobody_meant_is_refused(demo_mill: Mill, due: str) -> None:
    (found,) = faults(demo_mill, f"{HEAD}{ROW.replace('2026-12-04', due)}\n")
    assert found.startswith(f"o.csv:2: due: no date (got '{due}'); expected a date such as")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "o.csv: an empty file"),
        ("order,customer,ball,colour,balls,due\n", "o.csv:1: no orders"),
        ("order,customer,ball,colour,balls\n", "o.csv:1: due: a column is missing"),
        (HEAD.replace("priority", "prioity"), "o.csv:1: prioity: an unknown column"),
        (HEAD.replace("ready", "due"), "o.csv:1: due: a column twice"),
        (f'{HEAD}"7"x,{ROW}', "o.csv:2: not a CSV file"),
        (f'{HEAD}"7,{ROW}', "o.csv:2: not a CSV file"),
    ],
)
def test_a_file_that_is_no_list_of_orders(demo_mill: Mill, text: str, says: str) -> None:
    assert faults(demo_mill, text)[0].startswith(says)


PLAIN = st.text(
    st.characters(categories=("L", "N", "P"), include_characters=" "), min_size=1, max_size=20
).filter(lambda text: text.strip() == text)


NUMBERS = PLAIN.filter(lambda text: text[0] not in "=+-@")


@given(numbers=st.lists(NUMBERS, min_size=1, max_size=6, unique_by=str.casefold), data=st.data())
def test_whatever_a_csv_writer_writes_is_read_back(
    demo_mill: Mill, numbers: list[str], data: st.DataObject
) -> None:
    orders = [
        OrderAsked(
            number, data.draw(PLAIN), data.draw(st.sampled_from([b.name for b in demo_mill.ball])),
            data.draw(st.sampled_from([c.name for c in demo_mill.colour])),
            data.draw(st.integers(1, 1_000_000)),
            data.draw(st.dates(date(2000, 1, 1), date(2199, 12, 31))),
        )
        for number in numbers
    ]  # fmt: skip
    out = io.StringIO()
    writer = csv.writer(
        out,
        delimiter=data.draw(st.sampled_from(",;")),
        lineterminator=data.draw(st.sampled_from(["\n", "\r\n"])),
        quoting=data.draw(st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL])),
    )
    writer.writerow(MUST)
    for one in orders:
        writer.writerow(
            [one.number, one.customer, one.ball_name, one.colour_name, one.balls, one.due]
        )
    assert orders_from_csv(out.getvalue(), demo_mill) == tuple(orders)


@given(text=st.text(max_size=200))
def test_any_text_is_read_or_refused(demo_mill: Mill, text: str) -> None:
    for whole in (text, HEAD + text, HEAD + ROW + "\n" + text):
        try:
            orders = orders_from_csv(whole, demo_mill)
        except BadInput as bad:
            assert bad.faults
        else:
            assert len({order.number for order in orders}) == len(orders)
