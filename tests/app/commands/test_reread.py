"""``tain reread`` as it is typed."""

import json

from app.command_line import main
from core.job.job_file import load_job

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">'
OLD = HEAD + '<rect x="8" y="8" width="8" height="12"/><rect x="40" y="8" width="9" height="12"/></svg>'
NEW = HEAD + '<circle cx="5" cy="30" r="2"/><rect x="40" y="8" width="9" height="12"/></svg>'


def test_a_job_takes_the_newest_state_of_the_file_beside_it(tmp_path, capsys):
    art, job = tmp_path / "plate.svg", tmp_path / "plate.tain"
    art.write_text(OLD, "utf-8")
    assert main(["prepare", str(art), "-o", str(job), "--put", "id:s1=score"]) == 0
    art.write_text(NEW, "utf-8")
    before = job.read_bytes()
    capsys.readouterr()
    assert main(["reread", str(job)]) == 0
    assert "1 shape as before, 1 new, 1 gone." in capsys.readouterr().out
    assert job.read_bytes() == before
    assert main(["reread", str(job), "-o", str(job)]) == 2
    assert "exists already" in capsys.readouterr().err and job.read_bytes() == before
    assert main(["reread", str(job), "-o", str(job), "--force", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["as_before"], len(told["new"]), len(told["gone"])) == (1, 1, 1)
    assert load_job(job).source.data == NEW.encode()


def test_artwork_that_is_not_there_is_one_line(tmp_path, capsys):
    art, job = tmp_path / "plate.svg", tmp_path / "plate.tain"
    art.write_text(OLD, "utf-8")
    main(["prepare", str(art), "-o", str(job)])
    art.unlink()
    capsys.readouterr()
    assert main(["reread", str(job)]) == 2
    said = capsys.readouterr().err
    assert "plate.svg" in said and said.count("\n") == 1
