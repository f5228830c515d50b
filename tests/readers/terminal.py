"""Runs a program on a pseudo-terminal and answers its questions.

The command line names a JSON file: `run` is the command, `answers` the lines typed, each when the
program has asked (its output ends in `]: `). A line that is null closes the input instead. Prints JSON: what the terminal showed, and the exit
status.
"""

import json
import os
import pty
import select
import sys


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        wanted = json.load(file)
    child, terminal = pty.fork()
    if child == 0:
        os.execv(wanted["run"][0], wanted["run"])
    shown, answers = b"", list(wanted["answers"])
    unanswered = 0
    while True:
        ready, _, _ = select.select([terminal], [], [], 30)
        if not ready:
            os.kill(child, 9)
            sys.exit("the program neither asks nor ends: " + shown.decode())
        try:
            more = os.read(terminal, 4096)
        except OSError:
            break
        if not more:
            break
        shown += more
        if shown[unanswered:].endswith(b"]: ") and answers:
            unanswered = len(shown)
            line = answers.pop(0)
            os.write(terminal, b"\x04" if line is None else line.encode() + b"\n")
    _, status = os.waitpid(child, 0)
    json.dump({"shown": shown.decode(), "status": os.waitstatus_to_exitcode(status)}, sys.stdout)


main()
