"""What is hard on the program: a monkey at the window, kills at any moment, windows and edits by the hundred.

Run by hand, and the monkey for two minutes in ``.ci/run``:

    python -m tests.stress.monkey --minutes 20
    python -m tests.stress.kills --kills 200
    python -m tests.stress.cycles --windows 500 --edits 2000
"""
