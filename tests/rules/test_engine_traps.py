"""Each known trap of the rule engine: it is still there (else the guard may go), and what we hand over never meets it.

A trap runs in a process of its own, since some end it and some never return.
"""

import contextlib
import subprocess
import sys

import pytest

PROLOGUE = """
import json
import durable_rules_engine as E
LAST = {"zz": {"all": [{"m": {"zz": 1}}], "pri": 60000}}
K = {"m": {"k": "a"}}
KEY = {"key": {"c0": "key"}}
def join(*terms, kind="b"):
    return [{"c0": {"k": "a"}}, {"c1": {"$and": [{"k": kind}, *terms]}}]
def many(n):
    rules = {"r%d" % i: [{"m": {"$and": [{"k": "a"}, {"p%d" % i: 1}]}}] for i in range(n)}
    run(ruleset(**rules), {"id": "1", "k": "a", **{"p%d" % i: 1 for i in range(n)}})
def ruleset(**rules):
    return E.create_ruleset("t", json.dumps({**{n: {"all": p} for n, p in rules.items()}, **LAST}))
def run(handle, *facts):
    texts = [f if isinstance(f, str) else json.dumps(f) for f in facts]
    whole = "[" + ",".join(['{"id":"z0","z0":1}', *texts, '{"id":"zz","zz":1}']) + "]"
    code, state = E.assert_facts(handle, whole)
    started = E.start_action_for_state(handle, state)
    message = started and started[1]
    fired = []
    while message and len(fired) < 500:
        (rule, matched), = json.loads(message).items()
        fired.append(rule + ":" + ",".join(str(m.get("id", "-"))[:3] for m in matched.values()))
        message = E.complete_and_start_action(handle, state)
    E.delete_state(handle, None)
    print(*sorted(fired))
"""
A, B = '{"id":"1","k":"a"}', '{"id":"3","k":"a"}'

#: what goes in, and what the engine prints; `zz` missing means that facts were dropped, and nothing said so
SILENT = {
    "a number with an exponent drops all facts after it": (
        f'run(ruleset(r=[K]), \'{A}\', \'{{"id":"2","k":"a","v":1e-05}}\', \'{B}\')',
        "r:1",
    ),
    "an infinite number drops all facts after it": (
        f'run(ruleset(r=[K]), \'{A}\', \'{{"id":"2","k":"a","v":Infinity}}\', \'{B}\')',
        "r:1",
    ),
    "a fact of more than 255 fields drops all facts after it": (
        f"run(ruleset(r=[K]), '{A}', {{'id': '2', **{{'p%d' % i: 1 for i in range(260)}}}}, '{B}')",
        "r:1",
    ),
    "a broken text drops all facts after it": (f"run(ruleset(r=[K]), '{A}', '{{\"id\":', '{B}')", "r:1"),
    "$or fires twice when both branches hold": (
        'run(ruleset(r=[{"m":{"$or":[{"x":1},{"y":1}]}}]), {"id":"1","x":1,"y":1})',
        "r:1 r:1 zz:zz",
    ),
    "$or before a join lets the join be ignored": (
        "run(ruleset(r=join({'$or': [{'v': 1}, {'v': 2}]}, KEY)), {'id':'1','k':'a','key':'x'}, "
        "{'id':'2','k':'b','key':'x','v':1}, {'id':'3','k':'b','key':'other','v':1})",
        "r:1,2 r:1,3 zz:zz",
    ),
    "none() keeps what the fact it forbids should end": (
        'run(ruleset(r=[{"first":{"k":"a"}},{"neg$not":{"$and":[{"k":"b"},{"key":{"first":"key"}}]}}]), '
        '{"id":"1","k":"a","key":"x"}, {"id":"2","k":"b","key":"x"})',
        "r:1 zz:zz",
    ),
    "a rule of none() alone never fires": ('run(ruleset(r=[{"neg$not":{"k":"b"}}]), {"id":"1","k":"a"})', "zz:zz"),
    "$nex alone matches the engine's own facts": (
        'run(ruleset(r=[{"m":{"$nex":{"x":1}}}]), {"id":"1","x":1})',
        "r:sid r:z0 r:zz zz:zz",
    ),
    "3 never joins 3.0": (
        "run(ruleset(r=join({'v': {'c0': 'v'}})), {'id':'1','k':'a','v':3}, {'id':'2','k':'b','v':3.0})",
        "zz:zz",
    ),
    "true, 1 and the text true are one": (
        'run(ruleset(r=[{"m":{"x":True}}]), {"id":"1","x":True}, {"id":"2","x":1}, {"id":"3","x":"true"})',
        "r:1 r:2 r:3 zz:zz",
    ),
    "whole numbers saturate": (
        'run(ruleset(r=[{"m":{"x":2**63-1}}]), {"id":"1","x":2**63}, {"id":"2","x":2**70})',
        "r:1 r:2 zz:zz",
    ),
    "null is not unequal to 3": (
        'run(ruleset(r=[{"m":{"$and":[{"k":"a"},{"$neq":{"x":3}}]}}]), {"id":"1","k":"a","x":None})',
        "zz:zz",
    ),
    "a pattern with a backslash never matches": (
        'run(ruleset(r=[{"m":{"$mt":{"k":r"a\\d"}}}]), {"id":"1","k":"a1"})',
        "zz:zz",
    ),
    "texts are compared up to 65,536 characters less": (
        'run(ruleset(r=[{"m":{"k":"x"*70000}}]), {"id":"1","k":"x"*70000}, {"id":"2","k":"x"*4464})',
        "r:1 r:2 zz:zz",
    ),
    "a sign and its escape are two texts": (
        'run(ruleset(r=[{"m":{"k":"\u00f6"}}]), \'{"id":"1","k":"\\\\u00f6"}\', \'{"id":"2","k":"\u00f6"}\')',
        "r:1 zz:zz",
    ),
    "two ids of one hash are one fact": (
        'run(ruleset(r=[K]), {"id":"costarring","k":"a"}, {"id":"liquid","k":"a"})',
        "r:cos zz:zz",
    ),
    "two fields of one hash are one field": (
        'run(ruleset(r=[{"m":{"costarring":1}}]), {"id":"1","liquid":1})',
        "r:1 zz:zz",
    ),
    "one fact never fills two patterns": (
        "run(ruleset(r=join(KEY, kind='a')), {'id':'1','k':'a','key':'x'})",
        "zz:zz",
    ),
    "a join whose field is missing fires nothing": (
        "run(ruleset(r=join(KEY)), {'id':'1','k':'a'}, {'id':'2','k':'b','key':'x'})",
        "zz:zz",
    ),
    "a later unmatched fact hides that an id was taken before": (
        'print(E.assert_facts(ruleset(r=[K]), \'[{"id":"z0","z0":1},{"id":"1","k":"a"},{"id":"1","k":"a"}]\')[0], '
        'E.assert_facts(ruleset(r=[K]), \'[{"id":"z0","z0":1},{"id":"1","k":"a"},{"id":"1","k":"a"},'
        '{"id":"2","q":1}]\')[0])',
        "2 1",
    ),
}

#: what ends in an error of the engine
LOUD = {
    "a fact that meets more than 64 patterns is refused": ("many(70)", "error code: 303"),
    "more than 256 equal patterns are refused": (
        'ruleset(**{"r%d" % i: [K] for i in range(257)})',
        "error code: 108",
    ),
    "more than 16 patterns a rule are refused once they are met": (
        'run(ruleset(r=[{"c%d"%i:{"k":"k%d"%i}} for i in range(17)]), *[{"id":"%d"%i,"k":"k%d"%i} for i in range(17)])',
        "error code: 304",
    ),
    "more than 1,024 states are refused": (
        'h = ruleset(r=[K])\nfor i in range(1030): E.assert_fact(h, json.dumps({"id":"1","k":"a","sid":"s%d" % i}))',
        "MemoryError",
    ),
}

#: what ends the process, or never returns
FATAL = {
    "an empty fact never returns": f"run(ruleset(r=[K]), '{A}', '{{}}', '{B}')",
    "more than 512 kinds never return": (
        'run(ruleset(**{"r%d" % i: [{"m": {"k": "k%d" % i}}] for i in range(600)}), {"id":"1","k":"k3"})'
    ),
    "a whole number divided by zero ends the process": (
        'run(ruleset(r=[{"m":{"x":{"$div":{"$l":{"$m":"y"},"$r":{"$m":"z"}}}}}]), {"id":"1","x":3,"y":7,"z":0})'
    ),
    "deleting a state in which nothing fired ends the process": (
        "for t in range(200):\n"
        "    junk = [bytearray(b'\\xff' * n) for n in range(100, 40000, 37)]; del junk\n"
        "    h = E.create_ruleset('t', json.dumps({'r': {'all': [K]}}))\n"
        '    E.assert_fact(h, \'{"id":"1","z":1}\'); E.delete_state(h, None)'
    ),
}


def child(code: str, seconds: float = 60) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", PROLOGUE + code], capture_output=True, text=True, timeout=seconds, check=False
    )


@pytest.mark.parametrize("trap", SILENT)
def test_the_engine_is_still_wrong_in_silence(trap: str) -> None:
    code, printed = SILENT[trap]
    assert child(code).stdout.strip() == printed


@pytest.mark.parametrize("trap", LOUD)
def test_the_engine_still_refuses(trap: str) -> None:
    code, said = LOUD[trap]
    done = child(code)
    assert done.returncode == 1
    assert said in done.stderr


@pytest.mark.parametrize("trap", FATAL)
def test_the_engine_still_ends_the_process_or_never_returns(trap: str) -> None:
    # However slow the machine: only a trap that is gone returns in the end, and fails here.
    with contextlib.suppress(subprocess.TimeoutExpired):
        assert child(FATAL[trap], seconds=3).returncode < 0


ID_JOIN = """
h = ruleset(r=[{"c0":{"k":"a"}},{"c1":{"$and":[{"k":"b"},{"key":{"c0":"%s"}},{"one":{"c0":"one"}}]}}])
wrong = 0
for n in range(100):
    first = [json.dumps({"id":"s%%d" %% i,"k":"a","key":"s%%d" %% i,"one":1}) for i in range(40)]
    whole = "[" + ",".join(['{"id":"z0","z0":1}', *first, '{"id":"zz","zz":1}']) + "]"
    code, state = E.assert_facts(h, whole)
    del whole, first
    junk = [bytearray(b"\\xff" * size) for size in range(500, 4000, 7)]
    for i in range(40): E.assert_fact(h, json.dumps({"id":"b%%d" %% i,"k":"b","key":"s%%d" %% i,"one":1}))
    started = E.start_action_for_state(h, state)
    message, fired = started and started[1], 0
    while message:
        fired += 1
        message = E.complete_and_start_action(h, state)
    E.delete_state(h, None)
    wrong += fired != 41
print("wrong" if wrong else "right")
"""


def test_a_join_on_id_reads_freed_memory_and_one_on_key_does_not() -> None:
    assert child(ID_JOIN % "id").stdout.strip() == "wrong"
    assert child(ID_JOIN % "key").stdout.strip() == "right"


def test_a_ruleset_outlives_runs_in_which_nothing_fires_on_a_noisy_heap() -> None:
    done = child(
        "from airwarrant.rules.durable import *\n"
        "for t in range(60):\n"
        "    junk = [bytearray(b'\\xff' * n) for n in range(100, 40000, 37)]; del junk\n"
        "    with Ruleset([DurableRule('r0', (Pattern('a'),))]) as r:\n"
        "        r.run([Statement('b', 'k')], lambda n, m: (), 0)\n"
        "print('right')"
    )
    assert done.stdout.strip() == "right"


def test_importing_the_driver_starts_no_thread_and_no_host() -> None:
    done = child(
        "import sys, threading, airwarrant.rules.engine\n"
        "print(threading.active_count(), any(name.split('.')[0] == 'durable' for name in sys.modules))"
    )
    assert done.stdout.strip() == "1 False"
