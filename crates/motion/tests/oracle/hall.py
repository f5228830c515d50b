import numpy as np
from scipy.integrate import solve_ivp
g=9.80665
As=np.pi/4*.0762**2; A=np.pi/4*.1016**2
L=np.array([6.]*5+[10.]); K=np.array([.02*6/.1016+.5]*5+[.02*10/.1016+2.0])  # last: 1 + exit head
R=K/(2*g*A*A); I=L/(g*A)
MM=[20.7,23.8,28.4,48.1,70.4,197.2,107.3,54.9,43.3,25.8,22.1,19.5,0]
foot=-3.0
def roofq(lag):
    rate=[30*x/3.6e6 for x in MM]
    q=0;ks=[]
    for i,r in enumerate(rate):
        ks.append((300*i,r,q))
        q = r+(q-r)*np.exp(-300/lag) if lag>0 else r
    def f(t):
        i=min(int(t//300),12); t0,r,q0=ks[i]
        return r if lag<=0 else r+(q0-r)*np.exp(-(t-t0)/lag)
    return f
def rhs(f):
    def F(t,s):
        y=s[:6]; q=s[6:12]
        Ql=np.cumsum(q)
        ic=(y-foot)/(g*As)
        # H_i = y_i - ic_i qd_i ; H_i-H_{i+1} = I_i cumsum(qd)_i + R Q|Q| ; H_6=0
        M=np.zeros((6,6)); b=np.zeros(6)
        for i in range(6):
            M[i,i]-= -ic[i]
            b[i]+= y[i]
            if i<5:
                M[i,i+1]-= ic[i+1]; b[i]-= y[i+1]
            M[i,:i+1]+=I[i]
            b[i]-=R[i]*Ql[i]*abs(Ql[i])
        # rows: y_i - ic_i qd_i - (y_{i+1} - ic qd_{i+1}) = I*cum + RQQ  -> ic_i qd_i - ic_{i+1} qd_{i+1} + I cum = y_i - y_{i+1} - RQQ
        qd=np.linalg.solve(M,b)
        yd=(f(t)-q)/As
        return np.concatenate([yd,qd,[Ql[5]]])
    return F
for lag in [0,1,10,60]:
    f=roofq(lag); s=np.zeros(13); peak=-9; pt=0; last=-9
    out=[]
    for k in range(12):
        sol=solve_ivp(rhs(f),(300*k,300*(k+1)-1e-12),s,method='DOP853',rtol=1e-10,atol=1e-12,dense_output=True)
        tt=np.linspace(300*k,300*(k+1)-1e-9,60001); yy=sol.sol(tt)
        i=yy[0].argmax()
        if yy[0][i]>peak: peak=yy[0][i];pt=tt[i]
        last=max(last,yy[5].max()); s=sol.y[:,-1]
    print(lag,peak,pt,last,'passed 3600',s[12])
