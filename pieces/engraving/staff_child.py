"""The process in which Verovio runs: a line of JSON in, a line of JSON out.

Damaged input ends it, and only it. Run by ``staff``, never imported there.
"""

import json
import resource
import sys

MEMORY = 1 << 30


def main() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    import verovio

    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    for request in sys.stdin:
        asked = json.loads(request)
        toolkit.resetOptions()
        toolkit.setOptions(asked["options"])
        svg = toolkit.renderToSVG(1) if toolkit.loadData(asked["mei"]) else ""
        print(json.dumps({"svg": svg}), flush=True)


if __name__ == "__main__":
    main()
