import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))  # `pulse`, the private sound server, is everybody's
