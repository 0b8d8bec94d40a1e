"""A way through lines by a general solver: OR-tools' routing with guided local search."""

import itertools
from collections.abc import Sequence

import numpy as np

Point = tuple[float, float]
_PER_MM = 1000


def solver_jumps_mm(lines: Sequence[tuple[Point, Point]], start: Point, *, time_s: int) -> float:
    """Jumps of the way that the solver finds from ``start``, ending anywhere; either end of a line may be entered.

    A line is two nodes, one for each way of walking it, of which one must be visited: the distance from a node is that
    from the end it leaves by. Raises ImportError without OR-tools.
    """
    from ortools.constraint_solver import pywrapcp, routing_enums_pb2

    count = len(lines)
    enter = np.array([point for line in lines for point in line] + [start])
    leave = np.array([point for line in lines for point in line[::-1]] + [start])
    apart = np.hypot(*(enter[None, :, :] - leave[:, None, :]).transpose(2, 0, 1))
    apart[:, -1] = 0.0  # the way need not come back
    table = np.rint(apart * _PER_MM).astype(np.int64)
    manager = pywrapcp.RoutingIndexManager(2 * count + 1, 1, 2 * count)
    routing = pywrapcp.RoutingModel(manager)
    transit = routing.RegisterTransitMatrix(table.tolist())
    routing.SetArcCostEvaluatorOfAllVehicles(transit)
    must = int(table.max()) * 1000
    for line in range(count):
        routing.AddDisjunction([manager.NodeToIndex(2 * line), manager.NodeToIndex(2 * line + 1)], must)
    search = pywrapcp.DefaultRoutingSearchParameters()
    search.first_solution_strategy = routing_enums_pb2.FirstSolutionStrategy.PATH_CHEAPEST_ARC
    search.local_search_metaheuristic = routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
    search.time_limit.seconds = time_s
    found = routing.SolveWithParameters(search)
    here, nodes = routing.Start(0), []
    while not routing.IsEnd(here):
        nodes.append(manager.IndexToNode(here))
        here = found.Value(routing.NextVar(here))
    if len(nodes) != count + 1:
        raise ValueError("The solver left lines out.")
    return float(sum(apart[a, b] for a, b in itertools.pairwise(nodes)))
