"""Jobs as files in a folder."""

from pathlib import Path

from core.job.job import Job
from core.job.job_file import job_file_bytes
from core.output.mask_files import MaskFile, write_files


def save_jobs(jobs: tuple[tuple[str, Job], ...], folder: Path) -> None:
    """Each named job as a job file in the folder. Raises WriteError when one of that name exists."""
    files = [MaskFile(name=f"{name}.tain", data=job_file_bytes(job)) for name, job in jobs]
    write_files(files, folder, overwrite=False)
