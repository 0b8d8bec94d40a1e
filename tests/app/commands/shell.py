"""The command line called as a shell calls it, in this process: what it returns, prints and says."""

from app.command_line import main


def run(capsys, *words):
    """Exit code, stdout, stderr."""
    try:
        code = main([str(word) for word in words])
    except SystemExit as ended:  # words that the parser itself refuses
        code = ended.code
    out, err = capsys.readouterr()
    return code, out, err


def done(capsys, *words):
    """What is printed by a command that succeeds."""
    code, out, err = run(capsys, *words)
    assert code == 0, err
    return out


def told(capsys, code, *words):
    """A failure: that exit code, one line on stderr."""
    found, _, err = run(capsys, *words)
    assert found == code
    assert len(err.splitlines()) == 1 and "Traceback" not in err
    return err
