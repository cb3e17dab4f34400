"""python -m scheduler"""

from scheduler.cli import run

run()
