# Debian packages, by purpose; sourced by sim/quickstart.sh and tests/run.sh so that each list is kept once.

build_packages="g++ cmake ninja-build pkg-config libeigen3-dev libhdf5-dev libtomlplusplus-dev libcli11-dev
  libfmt-dev libboost-dev libpng-dev libturbojpeg0-dev zlib1g-dev libcairo2-dev libnlopt-dev libopencv-core-dev libopencv-imgproc-dev libzxing-dev fonts-dejavu-core
  python3"
python_packages="python3-dev pybind11-dev python3-numpy"
test_packages="libgtest-dev libgmock-dev librapidcheck-dev libzbar-dev libbenchmark-dev hdf5-tools netcdf-bin git
  python3-pytest python3-hypothesis python3-xarray python3-h5py python3-h5netcdf python3-netcdf4 python3-scipy
  mypy python3-venv python3-pip python3-wheel python3-setuptools python3-skimage
  python3-dask python3-distributed python3-matplotlib python3-nbformat python3-nbclient python3-ipykernel python3-ipywidgets
  clang libclang-rt-14-dev"

# Installs what is missing of the packages named; needs root, or sudo where there is one.
install_packages() {
  local missing=() package
  for package in "$@"; do
    dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q "ok installed" || missing+=("$package")
  done
  [ ${#missing[@]} -eq 0 ] && return 0
  local root=""
  if [ "$(id -u)" -ne 0 ]; then
    command -v sudo >/dev/null || { echo "These packages are missing, and only root can install them: ${missing[*]}" >&2; return 1; }
    root=sudo
  fi
  echo "Installing: ${missing[*]}"
  $root apt-get update -qq
  $root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
}
