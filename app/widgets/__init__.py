"""Parts of pages and dialogs; they know no job."""
