"""The job in hand and all that goes on beside it: history, plan, background work, files of recovery. No widgets."""
