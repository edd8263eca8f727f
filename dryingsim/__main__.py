"""`python -m dryingsim` is the command `dryingsim`."""

from dryingsim.cli.main import app

if __name__ == "__main__":
    app(prog_name="dryingsim")
