"""That this file is here lets tests in the folders below import `made_history`, which lies beside it."""
