"""The kernel's names that `kernel` uses for meshes, loaded together on first use.

Importing this file loads the CAD kernel; only functions import it.
"""

# ruff: noqa: F401 - this file exists to gather names
from OCP.BRep import BRep_Tool
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.BRepTools import BRepTools
from OCP.collections import (
    IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher,
)
from OCP.IMeshTools import (
    IMeshTools_MeshAlgoType_Delabella,
    IMeshTools_MeshAlgoType_Watson,
    IMeshTools_Parameters,
)
from OCP.Message import Message_ProgressRange
from OCP.Poly import Poly_MergeNodesTool
from OCP.RWStl import RWStl
from OCP.StlAPI import StlAPI_Writer
from OCP.TopAbs import TopAbs_FACE, TopAbs_REVERSED
from OCP.TopExp import TopExp
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS
